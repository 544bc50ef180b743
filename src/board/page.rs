//! The files of the page, embedded in the program: nothing is fetched from elsewhere.

/// The text of a module of the page, by its name.
macro_rules! module {
    ($name:literal) => {
        ($name, "text/javascript; charset=utf-8", include_str!(concat!("page/", $name)))
    };
}

/// Name, content type and text of each file.
pub const FILES: &[(&str, &str, &str)] = &[
    ("index.html", "text/html; charset=utf-8", include_str!("page/index.html")),
    ("board.css", "text/css; charset=utf-8", include_str!("page/board.css")),
    module!("answers.js"),
    module!("figures.js"),
    module!("keep.js"),
    module!("keyboard.js"),
    module!("kinds.js"),
    module!("lengths.js"),
    module!("live.js"),
    module!("main.js"),
    module!("model.js"),
    module!("moves.js"),
    module!("own.js"),
    module!("page.js"),
    module!("panel.js"),
    module!("server.js"),
    module!("shapes.js"),
    module!("snap.js"),
    module!("start.js"),
    module!("store.js"),
    module!("tools.js"),
    module!("underlay.js"),
    module!("vehicles.js"),
    module!("view.js"),
];
