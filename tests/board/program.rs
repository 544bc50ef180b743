//! The program with its board, as a person starts it.
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// A running board; stopped when dropped.
pub struct Server {
    child: Child,
    /// Its address with the token.
    pub address: String,
}

impl Server {
    /// Starts a board in a folder, at a port of its own if 0 is asked.
    pub fn start(folder: &Path, args: &[&str], port: u16) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_wideenough"));
        command.current_dir(folder).arg("board").arg("--no-open").args(args);
        let port = if port == 0 { free_port() } else { port };
        command.args(["--port", &port.to_string()]);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::inherit()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let address = lines.find_map(|line| {
            let line = line.unwrap();
            line.find("http://").map(|at| line[at..].split_whitespace().next().unwrap().to_owned())
        });
        Self { child, address: address.expect("the board says its address") }
    }

    /// Memory that it has in use, in MB, where the system says so.
    #[allow(dead_code, reason = "read by the bench")]
    pub fn memory_mb(&self) -> Option<f64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find(|line| line.starts_with("VmRSS"))?;
        line.split_whitespace().nth(1)?.parse::<f64>().ok().map(|kb| kb / 1024.0)
    }

    /// The port of its address.
    #[allow(dead_code, reason = "read by the tests")]
    pub fn port(&self) -> u16 {
        self.address.split(':').nth(2).unwrap().split('/').next().unwrap().parse().unwrap()
    }

    /// Kills it without a word.
    pub fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.kill();
    }
}

/// A port that nothing listens at just now.
fn free_port() -> u16 {
    std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}
