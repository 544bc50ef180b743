//! Content of drawings, independent of how it is drawn: shapes in site meters with their roles, labels, and panels to
//! show them in.
use crate::geometry::Point;
use crate::opening::DrawnGate;

/// The role of an item in a drawing. Its look follows from it, in the writer's `style`; the order is the order of the
/// legend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Surface of a road.
    Road,
    /// Center line of a road.
    CenterLine,
    /// Surface that tires may use off the road.
    Drive,
    /// The edge of a surface, where the ground a vehicle covers would hide it.
    GroundEdge,
    /// Something that stands in the way.
    Obstacle,
    /// Something low that only tires meet: a ditch, a curb.
    Low,
    /// Something overhead that only tall vehicles meet.
    Overhead,
    /// A fence.
    Fence,
    /// A property line or the line of a right of way.
    Boundary,
    /// Gate post where the plan draws it.
    Post,
    /// Gate post where the drawn path needs it.
    PostNeeded,
    /// Leaf standing open.
    Leaf,
    /// Ground swept by a leaf.
    Arc,
    /// The line of the gate, from post to post.
    GateLine,
    /// The dimension of the opening that a panel is about.
    Opening,
    /// Ground covered by the body.
    Envelope,
    /// Ground covered by the tires.
    Track,
    /// The vehicle along its path.
    Ghost,
    /// The vehicle where it starts, stops and ends.
    Stand,
    /// The vehicle waiting for the gate to open.
    Waiting,
    /// The part of a waiting vehicle that stands in the road.
    InRoad,
    /// A windshield or a window.
    Glass,
    /// The middle of a wheel from the side.
    Hub,
    /// A line on a vehicle: a hood, a roof, a cargo bed.
    Trim,
    /// The box that stands for a vehicle's body in what is computed.
    Box,
    /// Middle of the steered unit's rear axle.
    Path,
    /// Path of the front axle's middle on a turning template.
    LeadPath,
    /// Path of a wheel on a turning template.
    WheelPath,
    /// Center of a turn.
    Center,
    /// The object the vehicle hits.
    Hit,
    /// The tightest place.
    Contact,
    /// The place the vehicle comes from.
    Travel,
    /// A line that carries a measure.
    Dimension,
    /// A tire as part of a vehicle's picture.
    Tire,
    /// The ground a vehicle's side view stands on.
    Ground,
    /// A triangle of sight that must be clear.
    Sight,
    /// Part of the road that is hidden in it.
    Unseen,
    /// A driver's eye.
    Eye,
}

/// A shape, in site meters.
#[derive(Clone, Debug, PartialEq)]
pub enum Geom {
    /// Rings of a surface, holes included (even-odd).
    Area(Vec<Vec<Point>>),
    /// A surface like `Area`, for outlines with many corners that approximate curves.
    Smooth(Vec<Vec<Point>>),
    /// A line.
    Line(Vec<Point>),
    /// A line with many corners that approximates a curve.
    Curve(Vec<Point>),
    /// A disc.
    Disc {
        /// Center of the disc.
        center: Point,
        /// Radius of the disc.
        radius_m: f64,
    },
    /// An arrow drawn with a fixed weight.
    Arrow {
        /// Start.
        from: Point,
        /// Tip.
        to: Point,
    },
    /// The gap between two places, and a bracket that stands beside it and leaves both open to view.
    Mark {
        /// The place.
        at: Point,
        /// The place opposite.
        from: Point,
    },
    /// A dimension line beside two points, with its text.
    Dimension {
        /// One end.
        from: Point,
        /// The other.
        to: Point,
        /// Unit vector from the points toward the line.
        away: Point,
        /// Distance of the line from the points, in page units.
        offset: f64,
        /// Text of the measure.
        text: String,
    },
}

/// An item of a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Role of the item.
    pub role: Role,
    /// Shape of the item.
    pub geom: Geom,
}

impl Item {
    /// Returns an item.
    #[must_use]
    pub const fn new(role: Role, geom: Geom) -> Self {
        Self { role, geom }
    }
}

/// A text to be placed where it meets nothing else.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The text; short.
    pub text: String,
    /// The point it refers to.
    pub at: Point,
    /// Other places that are as suitable, such as other points of a long road.
    pub or_at: Vec<Point>,
    /// The surface it must lie on, if it names one: rings, holes included.
    pub within: Vec<Vec<Point>>,
    /// True if it is heavy.
    pub strong: bool,
    /// True if a line leads from it to the place.
    pub leader: bool,
    /// True if it may be left out for lack of room.
    pub optional: bool,
}

/// A view of the site: scale and rotation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// The site point in the middle of the panel.
    pub center: Point,
    /// Unit vector of the site that points up on the page.
    pub up: Point,
    /// Page units per meter.
    pub scale: f64,
    /// Width of the panel, page units.
    pub width: f64,
    /// Height of the panel, page units.
    pub height: f64,
}

impl View {
    /// A site point on the panel: x to the right, y down.
    #[must_use]
    pub fn page(&self, p: Point) -> Point {
        let d = p - self.center;
        let right = -self.up.left();
        Point::new(
            self.width / 2.0 + d.dot(right) * self.scale,
            self.height / 2.0 - d.dot(self.up) * self.scale,
        )
    }

    /// A direction of the site on the panel.
    #[must_use]
    pub fn direction(&self, d: Point) -> Point {
        Point::new(d.dot(-self.up.left()), -d.dot(self.up))
    }

    /// A view that shows all `points` with `margin_m` around them, as wide as the page, with a height between the given
    /// shares of its width.
    #[must_use]
    pub fn around(points: &[Point], up: Point, width: f64, margin_m: f64, lowest: f64, tallest: f64) -> Self {
        let right = -up.left();
        let (mut low, mut high) = (Point::new(f64::MAX, f64::MAX), Point::new(f64::MIN, f64::MIN));
        for p in points {
            let q = Point::new(p.dot(right), p.dot(up));
            low = Point::new(low.x.min(q.x), low.y.min(q.y));
            high = Point::new(high.x.max(q.x), high.y.max(q.y));
        }
        if points.is_empty() {
            (low, high) = (Point::default(), Point::default());
        }
        let size = Point::new(high.x - low.x + 2.0 * margin_m, high.y - low.y + 2.0 * margin_m);
        let size = Point::new(size.x.max(0.1), size.y.max(0.1));
        let height = (width * size.y / size.x).clamp(width * lowest, width * tallest);
        let middle = (low + high) * 0.5;
        Self {
            center: right * middle.x + up * middle.y,
            up,
            scale: (width / size.x).min(height / size.y),
            width,
            height,
        }
    }

    /// True if a site point lies on the panel, `inset` page units from its edge.
    #[must_use]
    pub fn shows(&self, p: Point, inset: f64) -> bool {
        let q = self.page(p);
        q.x >= inset && q.y >= inset && q.x <= self.width - inset && q.y <= self.height - inset
    }
}

/// A framed view with its items, in the order they are painted.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// A line above it.
    pub heading: Option<String>,
    /// The view.
    pub view: View,
    /// Items to paint, first to last.
    pub items: Vec<Item>,
    /// Labels to place, most important first.
    pub labels: Vec<Label>,
    /// True if a scale bar stands below it.
    pub scale_bar: bool,
    /// True if a north arrow stands beside the scale bar.
    pub north: bool,
    /// Size of its texts, page units.
    pub text_size: f64,
}

/// A drawing: texts, panels and a legend.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// The place, in a quiet line above the title; empty for none.
    pub place: String,
    /// Title: the answer, for a sheet that gives one.
    pub title: String,
    /// The answer's sign beside the title, for a sheet that gives one.
    pub verdict: Option<DrawnGate>,
    /// Lines under the title, the first one heavy.
    pub lines: Vec<String>,
    /// Steps after the first of those lines, each with its number before it.
    pub steps: Vec<String>,
    /// The drawing in words, for someone who cannot see it.
    pub description: String,
    /// Views, from top to bottom.
    pub panels: Vec<Panel>,
    /// True if a legend lists the roles used.
    pub legend: bool,
    /// Small print.
    pub notes: Vec<String>,
}

/// Width of every sheet in page units. Text of 18 units is 11 pixels on a phone 390 pixels wide.
pub const PAGE_WIDTH: f64 = 640.0;
/// Space left free around the sheet.
pub const PAGE_MARGIN: f64 = 16.0;
/// Width of a panel.
pub const PANEL_WIDTH: f64 = PAGE_WIDTH - 2.0 * PAGE_MARGIN;
