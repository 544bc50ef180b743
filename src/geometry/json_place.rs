//! Helpers shared by the readers of plan and vehicle files: the position of each value in a JSON text, which the parser
//! forgets (a fault without its line is hard to fix), and the word that a mistyped one was meant to be.
//!
//! [`Places::scan`] walks a text that `serde_json` has already accepted (so it is well formed and at most 128
//! deep) and keeps the start of every value; [`Places::find`] turns a JSON pointer (RFC 6901) into a line and a
//! column.

/// The starts of all values of one text.
#[derive(Debug, Default)]
pub(crate) struct Places {
    root: Node,
    line_starts: Vec<usize>,
    /// Keys written twice in one object, which RFC 8259 leaves undefined: pointer to the later one.
    pub(crate) doubled: Vec<Doubled>,
}

/// A key that stands twice in one object.
#[derive(Debug, Clone)]
pub(crate) struct Doubled {
    pub(crate) pointer: String,
    pub(crate) key: String,
    pub(crate) line: usize,
    pub(crate) column: usize,
}

#[derive(Debug, Default)]
struct Node {
    start: usize,
    children: Children,
}

#[derive(Debug, Default)]
enum Children {
    #[default]
    None,
    List(Vec<Node>),
    Object(Vec<(String, Node)>),
}

impl Places {
    /// Records the start of every value. On a text that is not JSON, the scan stops where the syntax breaks.
    pub(crate) fn scan(text: &str) -> Self {
        let line_starts = std::iter::once(0)
            .chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1))
            .collect();
        let mut scanner = Scanner { text, at: 0, pointer: Vec::new(), doubled: Vec::new() };
        let root = scanner.value().unwrap_or_default();
        let doubled = scanner.doubled;
        let mut places = Self { root, line_starts, doubled: Vec::new() };
        for (pointer, key, offset) in doubled {
            let (line, column) = places.line_and_column(text, offset);
            places.doubled.push(Doubled { pointer, key, line, column });
        }
        places
    }

    /// Line and column, counted from 1 in characters, of the value a pointer leads to. A pointer that leads
    /// nowhere (to a missing member, say) gives the place of the nearest value around it.
    pub(crate) fn find(&self, text: &str, pointer: &str) -> (usize, usize) {
        let mut node = &self.root;
        for step in pointer.split('/').skip(1) {
            let child = match &node.children {
                Children::None => None,
                Children::List(list) => step.parse().ok().and_then(|i: usize| list.get(i)),
                Children::Object(members) => {
                    let key = step.replace("~1", "/").replace("~0", "~");
                    // The last one, as serde_json takes the last of doubled keys.
                    members.iter().rev().find(|(name, _)| *name == key).map(|(_, child)| child)
                }
            };
            match child {
                Some(child) => node = child,
                None => break,
            }
        }
        self.line_and_column(text, node.start)
    }

    /// Line and column of a byte offset, counted from 1 in characters.
    pub(crate) fn line_and_column(&self, text: &str, offset: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|start| *start <= offset).max(1);
        let start = self.line_starts.get(line - 1).copied().unwrap_or(0);
        let column = text.get(start..offset).map_or(0, |before| before.chars().count()) + 1;
        (line, column)
    }
}

/// One step of a JSON pointer from a key.
pub(crate) fn step(key: &str) -> String {
    format!("/{}", key.replace('~', "~0").replace('/', "~1"))
}

struct Scanner<'a> {
    text: &'a str,
    at: usize,
    pointer: Vec<String>,
    doubled: Vec<(String, String, usize)>,
}

impl Scanner<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn blanks(&mut self) {
        while matches!(self.peek(), Some(b' ' | b'\t' | b'\n' | b'\r')) {
            self.at += 1;
        }
    }

    fn value(&mut self) -> Option<Node> {
        self.blanks();
        let start = self.at;
        let children = match self.peek()? {
            b'{' => self.object()?,
            b'[' => self.list()?,
            b'"' => {
                self.string()?;
                Children::None
            }
            _ => {
                while matches!(self.peek(), Some(b) if !matches!(b, b',' | b']' | b'}' | b' ' | b'\t' | b'\n' | b'\r'))
                {
                    self.at += 1;
                }
                Children::None
            }
        };
        Some(Node { start, children })
    }

    fn list(&mut self) -> Option<Children> {
        self.at += 1;
        let mut items = Vec::new();
        loop {
            self.blanks();
            if self.peek()? == b']' {
                self.at += 1;
                return Some(Children::List(items));
            }
            self.pointer.push(items.len().to_string());
            items.push(self.value()?);
            self.pointer.pop();
            self.blanks();
            if self.peek()? == b',' {
                self.at += 1;
            }
        }
    }

    fn object(&mut self) -> Option<Children> {
        self.at += 1;
        let mut members: Vec<(String, Node)> = Vec::new();
        loop {
            self.blanks();
            match self.peek()? {
                b'}' => {
                    self.at += 1;
                    return Some(Children::Object(members));
                }
                b'"' => {}
                _ => return None,
            }
            let key_at = self.at;
            let key = self.string()?;
            if members.iter().any(|(name, _)| *name == key) {
                let pointer = self.pointer.iter().map(|s| step(s)).collect();
                self.doubled.push((pointer, key.clone(), key_at));
            }
            self.blanks();
            if self.peek()? == b':' {
                self.at += 1;
            }
            self.pointer.push(key.clone());
            let value = self.value()?;
            self.pointer.pop();
            members.push((key, value));
            self.blanks();
            if self.peek()? == b',' {
                self.at += 1;
            }
        }
    }

    /// Moves past a string and returns its content.
    fn string(&mut self) -> Option<String> {
        let start = self.at;
        self.at += 1;
        loop {
            match self.peek()? {
                b'\\' => self.at += 2,
                b'"' => break,
                _ => self.at += 1,
            }
        }
        self.at += 1;
        serde_json::from_str(self.text.get(start..self.at)?).ok()
    }
}

/// Most letters of a word that is compared: what is longer is no mistyped word, and comparing takes its square.
const LONGEST_WORD: usize = 64;

/// The word most similar to a mistyped one, if any is near enough to be meant: by letters to change, add or drop
/// (Levenshtein distance), one for a short word and one more for each four letters.
pub(crate) fn nearest<'w>(typed: &str, words: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    if typed.len() > LONGEST_WORD {
        return None;
    }
    let typed = typed.to_lowercase();
    words
        .into_iter()
        .map(|word| (strsim::levenshtein(&typed, word), word))
        .filter(|(distance, word)| *distance <= 1 + word.chars().count() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_values_by_pointer() {
        let text = "{\n  \"é\": 1, \"a/b\": [10,\n   20, {\"x\": null}],\n \"last\": \"q\\\"[\" }";
        let places = Places::scan(text);
        for (pointer, place) in [
            ("", (1, 1)),
            ("/é", (2, 8)),
            ("/a~1b", (2, 18)),
            ("/a~1b/0", (2, 19)),
            ("/a~1b/1", (3, 4)),
            ("/a~1b/2/x", (3, 14)),
            ("/last", (4, 10)),
            ("/a~1b/2/missing", (3, 8)),
            ("/missing", (1, 1)),
        ] {
            assert_eq!(places.find(text, pointer), place, "{pointer}");
        }
    }

    #[test]
    fn notes_doubled_keys() {
        let text = "{\"a\": {\"k\": 1,\n \"k\": 2}}";
        let doubled = Places::scan(text).doubled;
        assert_eq!(doubled.len(), 1);
        assert_eq!((doubled[0].pointer.as_str(), doubled[0].key.as_str()), ("/a", "k"));
        assert_eq!((doubled[0].line, doubled[0].column), (2, 2));
    }

    #[test]
    fn suggests_the_word_meant() {
        let roles = ["road", "drive", "gate", "fence", "obstacle", "spot", "route"];
        for (typed, meant) in
            [("Gate", Some("gate")), ("obstical", Some("obstacle")), ("fense", Some("fence")), ("tree", None)]
        {
            assert_eq!(nearest(typed, roles), meant, "{typed}");
        }
    }
}
