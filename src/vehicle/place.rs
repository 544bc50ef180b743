//! Where each value of a JSON text stands, so that a fault found later can still name its line.
use std::collections::BTreeMap;

/// The line of every value of a JSON text, by path.
#[derive(Clone, Debug, Default)]
pub(super) struct Places {
    lines: BTreeMap<String, usize>,
    /// Paths of members given twice in one object, with the line of the second.
    pub(super) repeated: Vec<(String, usize)>,
}

impl Places {
    /// Scans a text that is known to be well-formed JSON; of anything else the places are merely incomplete.
    pub(super) fn scan(text: &str) -> Self {
        let mut scanner = Scanner { bytes: text.as_bytes(), at: 0, line: 1, places: Self::default() };
        scanner.value("", 0);
        scanner.places
    }
    /// The line of the value at a path, or of the nearest value around it.
    pub(super) fn line(&self, path: &str) -> usize {
        let mut path = path;
        loop {
            if let Some(line) = self.lines.get(path) {
                return *line;
            }
            match path.rfind(['.', '[']) {
                Some(end) => path = &path[..end],
                None => return self.lines.get("").copied().unwrap_or(1),
            }
        }
    }
}

struct Scanner<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
    places: Places,
}

impl Scanner<'_> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }
    fn step(&mut self) {
        if self.peek() == Some(b'\n') {
            self.line += 1;
        }
        self.at += 1;
    }
    fn skip_space(&mut self) {
        while self.peek().is_some_and(|b| b.is_ascii_whitespace()) {
            self.step();
        }
    }
    /// Reads a string and returns what stands between its quotes, escapes left as they are.
    fn string(&mut self) -> String {
        self.step();
        let start = self.at;
        while let Some(b) = self.peek() {
            if b == b'"' {
                break;
            }
            self.step();
            if b == b'\\' {
                self.step();
            }
        }
        let end = self.at.min(self.bytes.len());
        self.step();
        String::from_utf8_lossy(&self.bytes[start.min(end)..end]).into_owned()
    }
    fn value(&mut self, path: &str, depth: usize) {
        self.skip_space();
        self.places.lines.insert(path.to_owned(), self.line);
        // The JSON reader refuses texts nested deeper than this, so nothing legal is lost.
        if depth > 128 {
            return;
        }
        match self.peek() {
            Some(b'{') => self.members(path, depth),
            Some(b'[') => self.items(path, depth),
            Some(b'"') => drop(self.string()),
            _ => {
                while self.peek().is_some_and(|b| !b",]}".contains(&b) && !b.is_ascii_whitespace()) {
                    self.step();
                }
            }
        }
    }
    fn members(&mut self, path: &str, depth: usize) {
        self.step();
        loop {
            self.skip_space();
            match self.peek() {
                Some(b'"') => {
                    let line = self.line;
                    let key = self.string();
                    let child = join(path, &key);
                    if self.places.lines.contains_key(&child) {
                        self.places.repeated.push((child.clone(), line));
                    }
                    self.skip_space();
                    if self.peek() == Some(b':') {
                        self.step();
                    }
                    self.value(&child, depth + 1);
                }
                Some(b',') => self.step(),
                Some(b'}') => return self.step(),
                _ => return,
            }
        }
    }
    fn items(&mut self, path: &str, depth: usize) {
        self.step();
        let mut index = 0;
        loop {
            self.skip_space();
            match self.peek() {
                Some(b',') => self.step(),
                Some(b']') => return self.step(),
                None | Some(b'}') => return,
                Some(_) => {
                    self.value(&format!("{path}[{index}]"), depth + 1);
                    index += 1;
                }
            }
        }
    }
}

/// The path of a member.
pub(super) fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

#[cfg(test)]
mod tests {
    use super::Places;

    #[test]
    fn lines_by_path() {
        let places = Places::scan("{ \"a\": 1,\n \"b\": [ {\n \"c\\\"d\": \"x\\n\" },\n 7 ],\n\"a\": 2 }");
        assert_eq!(places.line(""), 1);
        assert_eq!(places.line("b"), 2);
        assert_eq!(places.line("b[0].c\\\"d"), 3);
        assert_eq!(places.line("b[1]"), 4);
        assert_eq!(places.line("b[0].missing"), 2); // of the object it is missing from
        assert_eq!(places.repeated, [("a".to_owned(), 5)]);
    }
}
