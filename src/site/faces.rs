//! The two faces of an opening and how its anchor moves them. The rule stands here and nowhere else.
use super::{Anchor, Gate, Side};

/// Positions of the two faces of an opening along the gate line: meters from the middle of the drawn gate, positive to
/// the right as seen from the road.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Faces {
    /// The face of the left post; negative where it stands to the left of the drawn middle.
    pub left: f64,
    /// The face of the right post.
    pub right: f64,
}

impl Faces {
    /// No limit: faces may stand any distance out.
    pub const ANYWHERE: Self = Self { left: f64::NEG_INFINITY, right: f64::INFINITY };

    /// Faces at these positions.
    #[must_use]
    pub const fn new(left: f64, right: f64) -> Self {
        Self { left, right }
    }

    /// An opening of this width about the drawn middle.
    ///
    /// ```
    /// use wideenough::site::Faces;
    /// assert_eq!(Faces::centered(3.0), Faces::new(-1.5, 1.5));
    /// ```
    #[must_use]
    pub const fn centered(opening_m: f64) -> Self {
        Self { left: -0.5 * opening_m, right: 0.5 * opening_m }
    }

    /// An opening of this width about a middle that stands `middle_u` to the right of the drawn one.
    #[must_use]
    pub const fn about(middle_u: f64, opening_m: f64) -> Self {
        Self { left: middle_u - 0.5 * opening_m, right: middle_u + 0.5 * opening_m }
    }

    /// The opening between them, meters.
    #[must_use]
    pub const fn opening_m(self) -> f64 {
        self.right - self.left
    }

    /// The middle between them, meters from the drawn one.
    #[must_use]
    pub const fn middle_u(self) -> f64 {
        0.5 * (self.left + self.right)
    }

    /// The face on one side.
    #[must_use]
    pub const fn on(self, side: Side) -> f64 {
        match side {
            Side::Left => self.left,
            Side::Right => self.right,
        }
    }

    /// Returns the mirror image on the gate's axis.
    #[must_use]
    pub const fn mirrored(self) -> Self {
        Self { left: -self.right, right: -self.left }
    }

    /// True if these faces stand within the others, or no more than `slack_m` beyond on either side.
    #[must_use]
    pub fn within(self, others: Self, slack_m: f64) -> bool {
        self.left >= others.left - slack_m && self.right <= others.right + slack_m
    }
}

impl Anchor {
    /// The faces of an opening of this width, widened or narrowed from the drawn ones; `None` where it may stand anywhere.
    ///
    /// ```
    /// use wideenough::site::{Anchor, Faces, Side};
    /// let drawn = Faces::centered(4.0);
    /// assert_eq!(Anchor::Center.faces(drawn, 5.0), Some(Faces::new(-2.5, 2.5)));
    /// assert_eq!(Anchor::Side(Side::Left).faces(drawn, 5.0), Some(Faces::new(-2.0, 3.0)));
    /// assert_eq!(Anchor::Side(Side::Right).faces(drawn, 5.0), Some(Faces::new(-3.0, 2.0)));
    /// assert_eq!(Anchor::Free.faces(drawn, 5.0), None);
    /// ```
    #[must_use]
    pub const fn faces(self, drawn: Faces, opening_m: f64) -> Option<Faces> {
        match self {
            Self::Center => Some(Faces::centered(opening_m)),
            Self::Side(Side::Left) => Some(Faces { left: drawn.left, right: drawn.left + opening_m }),
            Self::Side(Side::Right) => Some(Faces { left: drawn.right - opening_m, right: drawn.right }),
            Self::Free => None,
        }
    }

    /// Distance that each face moves outward, left and right, when the opening is widened by `by_m` from where it is
    /// drawn. An opening that may stand anywhere is widened about its middle.
    #[must_use]
    pub const fn outward_m(self, by_m: f64) -> [f64; 2] {
        match self {
            Self::Center | Self::Free => [0.5 * by_m, 0.5 * by_m],
            Self::Side(Side::Left) => [0.0, by_m],
            Self::Side(Side::Right) => [by_m, 0.0],
        }
    }

    /// The least opening whose faces stand at or outside the `needed` ones, and the positions of its faces. Infinite if
    /// it would [overstep](Self::overstep_m) what stays or the available `room`: the faces are then those needed. An
    /// empty need is a left face at positive and a right face at negative infinity.
    ///
    /// ```
    /// use wideenough::site::{Anchor, Faces, Side};
    /// let (drawn, room) = (Faces::centered(4.0), Faces::centered(20.0));
    /// let needed = Faces::new(-1.0, 1.5);
    /// let left_stays = Anchor::Side(Side::Left);
    /// assert_eq!(Anchor::Center.least_opening(drawn, room, needed), (3.0, Faces::centered(3.0)));
    /// assert_eq!(left_stays.least_opening(drawn, room, needed), (3.5, Faces::new(-2.0, 1.5)));
    /// assert_eq!(Anchor::Free.least_opening(drawn, room, needed), (2.5, needed));
    /// // Widened about its middle it would reach a road on the left.
    /// let road = Faces::new(-1.2, 20.0);
    /// assert_eq!(Anchor::Center.least_opening(drawn, road, needed), (f64::INFINITY, needed));
    /// ```
    #[must_use]
    pub fn least_opening(self, drawn: Faces, room: Faces, needed: Faces) -> (f64, Faces) {
        let Faces { left, right } = needed;
        match self {
            Self::Free if left.is_infinite() || right.is_infinite() => {
                let at = if left.is_finite() {
                    left
                } else if right.is_finite() {
                    right
                } else {
                    0.0
                };
                (0.0, Faces { left: at, right: at })
            }
            _ if self.overstep_m(drawn, room, needed) > 0.0 => (f64::INFINITY, needed),
            Self::Center => {
                let half = right.max(-left).max(0.0);
                (2.0 * half, Faces::centered(2.0 * half))
            }
            Self::Side(Side::Left) => {
                let right = right.max(drawn.left);
                (right - drawn.left, Faces { left: drawn.left, right })
            }
            Self::Side(Side::Right) => {
                let left = left.min(drawn.right);
                (drawn.right - left, Faces { left, right: drawn.right })
            }
            // Faces that would overlap leave an opening of zero.
            Self::Free => ((right - left).max(0.0), Faces { left, right: right.max(left) }),
        }
    }

    /// Distance that needed faces reach past what stays: past the drawn face of the post that stays put, or past the
    /// available `room` for the faces that move. Zero or less if they do not.
    #[must_use]
    pub fn overstep_m(self, drawn: Faces, room: Faces, needed: Faces) -> f64 {
        let (past_left, past_right) = (room.left - needed.left, needed.right - room.right);
        match self {
            // Both faces move out as far as the farther one must.
            Self::Center => {
                let half = needed.right.max(-needed.left);
                (half - room.right).max(half + room.left)
            }
            Self::Side(Side::Left) => past_right.max(drawn.left - needed.left),
            Self::Side(Side::Right) => past_left.max(needed.right - drawn.right),
            Self::Free => past_left.max(past_right),
        }
    }

    /// Returns the mirror image on the gate's axis.
    #[must_use]
    pub const fn mirrored(self) -> Self {
        match self {
            Self::Side(Side::Left) => Self::Side(Side::Right),
            Self::Side(Side::Right) => Self::Side(Side::Left),
            Self::Center | Self::Free => self,
        }
    }
}

impl Gate {
    /// The faces as drawn.
    #[must_use]
    pub fn drawn_faces(&self) -> Faces {
        Faces::centered(self.opening_m())
    }

    /// The faces of this gate with an opening of this width, widened as its anchor says. An opening that may stand
    /// anywhere stands about the drawn middle.
    #[must_use]
    pub fn faces(&self, opening_m: f64) -> Faces {
        self.anchor.faces(self.drawn_faces(), opening_m).unwrap_or(Faces::centered(opening_m))
    }
}
