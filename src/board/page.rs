//! The files of the page, embedded in the program: nothing is fetched from elsewhere.

/// Name, content type and text of each file.
pub const FILES: &[(&str, &str, &str)] = &[
    ("index.html", "text/html; charset=utf-8", include_str!("page/index.html")),
    ("board.css", "text/css; charset=utf-8", include_str!("page/board.css")),
    ("board.js", "text/javascript; charset=utf-8", include_str!("page/board.js")),
];
