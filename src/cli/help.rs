//! `wideenough help`: the commands, the help of one, and the pages of `docs/` as topics.
use super::inputs::Faults;
use super::{Cli, terminal};
use clap::{Args, CommandFactory};
use std::process::ExitCode;
use wideenough::report;

/// Show the help of a command, or a topic: drawing a plan, a vehicle of your own, published rules, results...
#[derive(Debug, Args)]
pub struct HelpArgs {
    /// A command or a topic; all are listed if none is given
    #[arg(value_name = "COMMAND OR TOPIC")]
    name: Option<String>,
}

/// The topics, each with its page.
const TOPICS: [(&str, &str); 10] = [
    ("plan", include_str!("../../docs/plan.md")),
    ("vehicle", include_str!("../../docs/vehicle.md")),
    ("visits", include_str!("../../docs/visits.md")),
    ("gate", include_str!("../../docs/gate.md")),
    ("rules", include_str!("../../docs/rules.md")),
    ("sight", include_str!("../../docs/sight.md")),
    ("results", include_str!("../../docs/results.md")),
    ("map-data", include_str!("../../docs/map-data.md")),
    ("many-sites", include_str!("../../docs/many-sites.md")),
    ("model", include_str!("../../docs/model.md")),
];

/// The list of topics, for the end of the program's own help.
pub fn topics() -> String {
    let mut text = "Topics (wideenough help TOPIC):".to_owned();
    for (name, page) in TOPICS {
        let title = page.lines().next().unwrap_or_default().trim_start_matches("# ");
        text.push_str(&format!("\n  {name:<10}  {title}"));
    }
    text
}

/// Prints the help requested.
pub fn run(args: &HelpArgs) -> Result<ExitCode, Faults> {
    let mut cli = Cli::command();
    // So that a command's help names the program too.
    cli.build();
    let text = match args.name.as_deref() {
        None => cli.render_long_help().to_string(),
        Some(name) => match TOPICS.iter().find(|(topic, _)| *topic == name) {
            Some((_, page)) => report::plain_text(page, terminal::width()),
            None => match cli.find_subcommand_mut(name) {
                Some(command) => command.render_long_help().to_string(),
                None => {
                    let topics: Vec<&str> = TOPICS.iter().map(|(topic, _)| *topic).collect();
                    let message = format!(
                        "help: there is no command and no topic \"{name}\"; topics: {}",
                        topics.join(", ")
                    );
                    return Err(Faults::one(message));
                }
            },
        },
    };
    terminal::print(&text)?;
    Ok(ExitCode::SUCCESS)
}
