//! JSON formatted for people and for line-by-line comparison: a value that fits on a line stays on one, others are
//! broken.
use serde_json::Value;

/// Longest line; a pose of a vehicle with three trailers fits well within it.
const LINE: usize = 110;

/// The value as text, two blanks a level, keys in their order, a line break at the end.
///
/// ```
/// use wideenough::report::layout::pretty;
/// let value = serde_json::json!({ "poses": [[0.0, 1.5], [0.5, 1.5]], "note": "short" });
/// assert_eq!(pretty(&value), "{\n  \"poses\": [[0.0, 1.5], [0.5, 1.5]],\n  \"note\": \"short\"\n}\n");
/// ```
#[must_use]
pub fn pretty(value: &Value) -> String {
    let mut out = String::new();
    write(&mut out, value, 0, 0, true);
    out.push('\n');
    out
}

/// Writes `value` at the end of `out`, whose last line already holds `column` characters. `open`: break it even if
/// it fits (the outermost object).
fn write(out: &mut String, value: &Value, depth: usize, column: usize, open: bool) {
    if !open && let Some(line) = one_line(value, LINE.saturating_sub(column)) {
        out.push_str(&line);
        return;
    }
    let (brackets, items): (_, Vec<(Option<&String>, &Value)>) = match value {
        Value::Array(items) => (['[', ']'], items.iter().map(|item| (None, item)).collect()),
        Value::Object(fields) => (['{', '}'], fields.iter().map(|(key, item)| (Some(key), item)).collect()),
        scalar => {
            out.push_str(&scalar.to_string());
            return;
        }
    };
    out.push(brackets[0]);
    for (i, (key, item)) in items.iter().enumerate() {
        out.push_str(if i == 0 { "\n" } else { ",\n" });
        let start = out.len();
        out.push_str(&"  ".repeat(depth + 1));
        if let Some(key) = key {
            out.push_str(&Value::from(key.as_str()).to_string());
            out.push_str(": ");
        }
        // One more for the comma.
        let column = out[start..].chars().count() + 1;
        write(out, item, depth + 1, column, false);
    }
    if !items.is_empty() {
        out.push('\n');
        out.push_str(&"  ".repeat(depth));
    }
    out.push(brackets[1]);
}

/// The value on one line of at most `room` characters, or `None`.
fn one_line(value: &Value, room: usize) -> Option<String> {
    let mut out = String::new();
    append(&mut out, value, room).then_some(out)
}

fn append(out: &mut String, value: &Value, room: usize) -> bool {
    match value {
        Value::Array(items) => {
            out.push('[');
            for (i, item) in items.iter().enumerate() {
                if i > 0 {
                    out.push_str(", ");
                }
                if !append(out, item, room) {
                    return false;
                }
            }
            out.push(']');
        }
        Value::Object(fields) if fields.is_empty() => out.push_str("{}"),
        Value::Object(fields) => {
            out.push_str("{ ");
            for (i, (key, item)) in fields.iter().enumerate() {
                if i > 0 {
                    out.push_str(", ");
                }
                out.push_str(&Value::from(key.as_str()).to_string());
                out.push_str(": ");
                if !append(out, item, room) {
                    return false;
                }
            }
            out.push_str(" }");
        }
        scalar => out.push_str(&scalar.to_string()),
    }
    out.chars().count() <= room
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn long_lists_are_broken_one_item_a_line_and_parse_back() {
        let rows: Vec<Value> = (0..40).map(|i| json!([f64::from(i) * 0.5, 1.25, -3.0])).collect();
        let just_over = "y".repeat(LINE - 26);
        let value = json!({ "deep": { "poses": rows, "with its key": ["one", just_over], "empty": [], "none": {} }, "text": "a \"quoted\" ünï" });
        let text = pretty(&value);
        assert!(text.lines().all(|line| line.chars().count() <= LINE), "{text}");
        assert!(text.contains("\n      [0.5, 1.25, -3.0],\n"), "{text}");
        assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), value);
    }

    #[test]
    fn a_text_longer_than_a_line_stands_whole() {
        let value = json!({ "note": "x".repeat(300) });
        assert_eq!(serde_json::from_str::<Value>(&pretty(&value)).unwrap(), value);
    }
}
