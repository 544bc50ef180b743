//! A board of its own for each test, and requests to it over a plain socket.
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// A running board; it ends with this value.
pub struct Board {
    pub process: Child,
    pub port: u16,
    pub token: String,
    /// The board's folder.
    pub folder: TempDir,
    /// Where the board keeps its studies.
    pub temporary: TempDir,
}

/// An answer.
pub struct Answer {
    pub status: u16,
    /// Names in lower case.
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    pub fn text(&self) -> String {
        String::from_utf8(self.body.clone()).expect("text")
    }

    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.text()))
    }
}

/// The text of an example plan.
pub fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(format!("{name}.geojson"));
    std::fs::read_to_string(path).expect("an example")
}

/// The same program.
pub fn program() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("wideenough"));
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

impl Board {
    /// Starts one in an empty folder.
    pub fn start() -> Self {
        Self::start_in(tempfile::tempdir().expect("a folder"), &[])
    }

    /// Starts one in a folder, with more arguments.
    pub fn start_in(folder: TempDir, more: &[&str]) -> Self {
        let mut command = program();
        command.arg("--no-open").args(more);
        Self::start_with(folder, command)
    }

    /// Starts one by a command that lacks the word `board`, the folder and the port.
    pub fn start_with(folder: TempDir, given: Command) -> Self {
        let temporary = tempfile::tempdir().expect("a folder");
        let mut command = Command::new(given.get_program());
        command.args(["board", "--port", "0", "--folder"]).arg(folder.path()).args(given.get_args());
        command.envs(given.get_envs().filter_map(|(key, value)| Some((key, value?))));
        command.env("TMPDIR", temporary.path()).stdin(Stdio::null()).stdout(Stdio::piped());
        let mut process = command.spawn().expect("the board starts");
        let mut line = String::new();
        let out = process.stdout.take().expect("its output");
        BufReader::new(out).read_line(&mut line).expect("its address");
        let address = line.trim().split("http://127.0.0.1:").nth(1).unwrap_or_else(|| panic!("{line}"));
        let (port, rest) = address.split_once('/').expect("a path");
        let (port, token) = (port.parse().expect("a port"), rest.trim_end_matches('/').to_owned());
        Self { process, port, token, folder, temporary }
    }

    /// Sends these bytes and returns whatever is answered.
    pub fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = self.connect();
        // A server that refuses early may close before everything is sent.
        _ = stream.write_all(request);
        let mut bytes = Vec::new();
        _ = stream.read_to_end(&mut bytes);
        answer(&bytes)
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).expect("the board listens");
        stream.set_read_timeout(Some(Duration::from_secs(120))).expect("a time");
        stream
    }

    /// The head of a request to a path below the token, up to its last header.
    pub fn head(&self, method: &str, path: &str) -> String {
        let (port, token) = (self.port, &self.token);
        format!("{method} /{token}/{path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n")
    }

    pub fn get(&self, path: &str) -> Answer {
        self.raw(format!("{}\r\n", self.head("GET", path)).as_bytes())
    }

    /// Sends a body with its length and kind.
    pub fn send(&self, method: &str, path: &str, kind: &str, body: &[u8]) -> Answer {
        let mut request = self.head(method, path).into_bytes();
        request.extend(format!("Content-Type: {kind}\r\nContent-Length: {}\r\n\r\n", body.len()).bytes());
        request.extend(body);
        self.raw(&request)
    }

    pub fn post(&self, path: &str, body: &Value) -> Answer {
        self.send("POST", path, "application/json", body.to_string().as_bytes())
    }

    /// The answer to a post that must be well.
    pub fn ask(&self, path: &str, body: &Value) -> Value {
        let answer = self.post(path, body);
        assert_eq!(answer.status, 200, "{path}: {}", answer.text());
        answer.json()
    }

    /// Opens the stream of a study's events, and returns its lines.
    pub fn events(&self, id: &str) -> BufReader<TcpStream> {
        let mut stream = self.connect();
        stream
            .write_all(format!("{}\r\n", self.head("GET", &format!("study/{id}/events"))).as_bytes())
            .unwrap();
        BufReader::new(stream)
    }

    /// Starts a study and waits for its last event: its name and data.
    pub fn studied(&self, body: &Value) -> (String, Value, String) {
        let id = self.ask("study", body)["id"].as_str().expect("an id").to_owned();
        let (name, data) = last_event(self.events(&id));
        (id, data, name)
    }

    /// Programs that this board has started.
    pub fn children(&self) -> Vec<u32> {
        children_of(self.process.id())
    }

    /// Sends a signal.
    pub fn signal(&self, name: &str) {
        let sent = Command::new("kill").args([name, &self.process.id().to_string()]).status();
        assert!(sent.expect("kill").success());
    }
}

impl Drop for Board {
    fn drop(&mut self) {
        _ = self.process.kill();
        _ = self.process.wait();
    }
}

/// Reads events until the last one.
pub fn last_event(mut lines: BufReader<TcpStream>) -> (String, Value) {
    let mut body = Vec::new();
    lines.read_to_end(&mut body).expect("the stream ends");
    let text = answer(&body).text();
    let last =
        text.trim().rsplit("\n\n").find(|event| event.contains("event:")).expect("an event").to_owned();
    let field =
        |name: &str| last.lines().find_map(|line| line.strip_prefix(name)).map(str::trim).unwrap_or_default();
    (field("event:").to_owned(), serde_json::from_str(field("data:")).expect("JSON"))
}

/// Splits an answer.
fn answer(bytes: &[u8]) -> Answer {
    let end = bytes.windows(4).position(|four| four == b"\r\n\r\n").unwrap_or(bytes.len());
    let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
    let mut lines = head.lines();
    let status = lines.next().and_then(|line| line.split(' ').nth(1)?.parse().ok()).unwrap_or(0);
    let headers: Vec<(String, String)> = lines
        .filter_map(|line| line.split_once(": "))
        .map(|(key, value)| (key.to_lowercase(), value.to_owned()))
        .collect();
    let mut body = bytes.get(end + 4..).unwrap_or_default().to_vec();
    if headers.iter().any(|(key, value)| key == "transfer-encoding" && value == "chunked") {
        body = unchunked(&body);
    }
    Answer { status, headers, body }
}

fn unchunked(mut rest: &[u8]) -> Vec<u8> {
    let mut body = Vec::new();
    while let Some(end) = rest.windows(2).position(|two| two == b"\r\n") {
        let digits = String::from_utf8_lossy(&rest[..end]).into_owned();
        let length = usize::from_str_radix(digits.trim(), 16).unwrap_or(0);
        let from = end + 2;
        let Some(chunk) = rest.get(from..from + length).filter(|_| length > 0) else { break };
        body.extend(chunk);
        rest = rest.get(from + length + 2..).unwrap_or_default();
    }
    body
}

/// Programs with this parent that have not ended.
pub fn children_of(parent: u32) -> Vec<u32> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir("/proc").into_iter().flatten().flatten() {
        let Ok(stat) = std::fs::read_to_string(entry.path().join("stat")) else { continue };
        // The name may hold anything but ends at the last parenthesis; then the state and the parent follow.
        let Some((_, rest)) = stat.rsplit_once(") ") else { continue };
        let mut words = rest.split(' ');
        let (state, of) = (words.next(), words.next());
        if of == Some(parent.to_string().as_str())
            && state != Some("Z")
            && let Ok(id) = entry.file_name().to_string_lossy().parse()
        {
            found.push(id);
        }
    }
    found
}

/// True if a program has not ended.
pub fn is_running(id: u32) -> bool {
    let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).unwrap_or_default();
    stat.rsplit_once(") ").is_some_and(|(_, rest)| !rest.starts_with('Z'))
}

/// Waits for something that happens soon; fails only where it does not happen at all.
pub fn wait_for(what: &str, mut happened: impl FnMut() -> bool) {
    let begin = Instant::now();
    while !happened() {
        assert!(begin.elapsed() < Duration::from_secs(120), "it did not happen: {what}");
        std::thread::sleep(Duration::from_millis(20));
    }
}
