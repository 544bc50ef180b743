//! A board open in a browser, and what a person does with it.
use super::webdriver::{Browser, ENTER, Hand};
use serde_json::{Value, json};

/// Meters in a foot.
pub const FOOT_M: f64 = 0.3048;

/// A board open in a browser.
pub struct Page<'a> {
    pub browser: &'a Browser,
}

impl Page<'_> {
    pub fn open(&self, address: &str) {
        self.browser.open(address);
        self.browser.wait("the page", "window.board && board.keep.tab && document.getElementById('saved')");
        // The first dialog, a plan or unsaved work.
        self.browser
            .wait("the start", "document.querySelector('dialog[open]') || board.model.features.length");
    }

    /// An empty sheet, seen at 12 pixels for a meter about zero.
    pub fn empty(&self) {
        self.press("#empty");
        self.look_at(12.0);
    }

    pub fn look_at(&self, scale: f64) {
        self.browser.ask(&format!("board.view.scale = {scale}; board.view.center = [0, 0]; board.view.resize(); board.view.drawNow(); return 1"));
    }

    /// Presses a button, wherever it is on the page.
    pub fn press(&self, selector: &str) {
        self.browser.ask(&format!("document.querySelector(`{selector}`).click(); return 1"));
    }

    /// The point of the window where a point of the drawing is, given in feet.
    pub fn at(&self, feet: [f64; 2]) -> [f64; 2] {
        let [x, y] = feet.map(|v| v * FOOT_M);
        let found = self.browser.ask(&format!(
            "const b = document.getElementById('board').getBoundingClientRect(), p = board.view.screen([{x}, {y}]); return [p[0] + b.left, p[1] + b.top]"
        ));
        [found[0].as_f64().unwrap(), found[1].as_f64().unwrap()]
    }

    /// Draws a thing by taps at points in feet.
    pub fn draw(&self, hand: Hand, kind: &str, points: &[[f64; 2]]) {
        self.press(&format!("#kinds [data-kind={kind}]"));
        for point in points {
            self.browser.stroke(hand, &[self.at(*point)]);
        }
        if self.browser.ask("return Boolean(board.tools.drawing)") == true {
            self.press("#done");
        }
        assert_eq!(self.browser.ask("return Boolean(board.tools.drawing)"), false, "{kind} is not finished");
    }

    /// Begins to draw a thing by the keyboard.
    pub fn begin(&self, kind: &str) {
        self.browser.ask(&format!("document.querySelector('#kinds [data-kind={kind}]').focus(); return 1"));
        self.browser.type_keys("", ENTER);
    }

    pub fn choose(&self, vehicle: &str) {
        self.press("#add-vehicle");
        self.press(&format!("#choose-cards input[value=\"{vehicle}\"]"));
        self.press("#choose-done");
    }

    /// Waits for the study of the plan as it is drawn.
    pub fn studied(&self) {
        self.browser.wait("the study", "board.live.current && !board.live.running");
    }

    pub fn text(&self) -> String {
        self.browser.ask("return board.model.text()").as_str().unwrap().to_owned()
    }

    pub fn plan(&self) -> Value {
        serde_json::from_str(&self.text()).unwrap()
    }

    /// Coordinates of a feature, in the plan's units.
    pub fn coordinates(&self, index: usize) -> Value {
        self.plan()["features"][index]["geometry"]["coordinates"].clone()
    }

    pub fn save(&self, name: &str) {
        self.browser.ask(&format!("const n = document.getElementById('name'); n.value = '{name}'; n.dispatchEvent(new Event('change')); return 1"));
        self.browser.wait("the name", &format!("board.keep.name === '{name}'"));
        self.press("#save");
        self.browser.wait("saved", "!board.keep.dirty");
    }

    pub fn words(&self, id: &str) -> String {
        self.browser
            .ask(&format!("return document.getElementById('{id}').textContent"))
            .as_str()
            .unwrap()
            .to_owned()
    }

    /// For each point of the window, true if it is purple on the screen now.
    pub fn colored(&self, points: &[[f64; 2]]) -> Value {
        let shot = self.browser.screenshot();
        self.browser.ask(&format!(
            "return new Promise((done) => {{ const i = new Image(); i.onload = () => {{ const c = document.createElement('canvas'); c.width = i.width; c.height = i.height; const x = c.getContext('2d', {{ willReadFrequently: true }}); x.drawImage(i, 0, 0); \
             done({}.map((p) => {{ const d = x.getImageData(Math.round(p[0]), Math.round(p[1]), 1, 1).data; return d[0] - d[1] > 60 && d[2] - d[1] > 60; }})); }}; i.src = 'data:image/png;base64,{shot}'; }})",
            json!(points)
        ))
    }
}
