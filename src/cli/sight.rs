//! Options of a study for sight on leaving: the published rules, and the values that these leave to the user.
use super::inputs::Faults;
use clap::Args;
use wideenough::geometry::length;
use wideenough::sight::{Given, SIGHT_RULES, SightOptions, WALK_RULES, sight_rule, walk_rule};
use wideenough::site::Site;

/// Options for sight on leaving.
#[derive(Clone, Debug, Args)]
#[command(next_help_heading = "Sight on leaving")]
pub struct SightArgs {
    /// Published rules on sight to check, by name with commas between; none by default
    #[arg(long, value_name = "RULES", value_delimiter = ',', long_help = rules_help())]
    sight: Vec<String>,
    /// Distance of the driver's eye from the road's edge, along the drive, instead of the rule's own
    #[arg(long, value_name = "LENGTH", value_parser = distance, requires = "sight", allow_hyphen_values = true)]
    sight_x: Option<f64>,
    /// Distance along the road that must be seen, instead of the rule's own
    #[arg(long, value_name = "LENGTH", value_parser = distance, requires = "sight", allow_hyphen_values = true)]
    sight_y: Option<f64>,
}

/// Largest distance accepted: no rule requires more than the stopping distance at 100 mph.
const MOST_M: f64 = 1000.0;

fn distance(text: &str) -> Result<f64, String> {
    let meters = length::parse(text).map_err(|e| e.to_string())?;
    if meters > 0.0 && meters <= MOST_M {
        Ok(meters)
    } else {
        Err(format!("a distance of sight is more than 0 and at most {MOST_M} m"))
    }
}

fn rules_help() -> String {
    let mut text =
        "Published rules on sight to check: names separated by commas; none by default. They depend on the \
                    \"speed\" of the road in the plan. The road authority decides which of them apply.\n"
            .to_owned();
    for rule in &SIGHT_RULES {
        text.push_str(&format!("\n{}: {} ({})", rule.name, rule.asks, rule.citation));
    }
    for rule in &WALK_RULES {
        text.push_str(&format!("\n{}: {} ({})", rule.name, rule.asks, rule.citation));
    }
    text
}

impl SightArgs {
    /// Returns the options, or every fault in them.
    pub fn options(&self) -> Result<SightOptions, Faults> {
        let mut faults = Faults::default();
        let given = Given { eye_back_m: self.sight_x, along_m: self.sight_y };
        let mut options = SightOptions { given, ..SightOptions::default() };
        for name in self.sight.iter().map(|name| name.trim()).filter(|name| !name.is_empty()) {
            if let Some(rule) = sight_rule(name) {
                if options.rules.iter().all(|other| other.name != rule.name) {
                    options.rules.push(*rule);
                }
                if rule.eye_back_m.is_none() && (self.sight_x.is_none() || self.sight_y.is_none()) {
                    faults.add(Faults::one(format!("--sight: \"{name}\" needs --sight-x and --sight-y")));
                }
            } else if let Some(rule) = walk_rule(name) {
                if options.walks.iter().all(|other| other.name != rule.name) {
                    options.walks.push(*rule);
                }
            } else {
                let roads = SIGHT_RULES.iter().map(|rule| rule.name);
                let known: Vec<&str> = roads.chain(WALK_RULES.iter().map(|rule| rule.name)).collect();
                faults.add(Faults::one(format!(
                    "--sight: \"{name}\" is not a rule on sight; the rules are {}",
                    known.join(", ")
                )));
            }
        }
        faults.or(options)
    }

    /// Notes that a plan states a speed while no sight rule was chosen.
    pub fn tell_unasked(&self, site: &Site) {
        if self.sight.is_empty() && site.roads.iter().any(|road| road.speed.is_some()) {
            eprintln!(
                "The plan gives the road's speed; --sight checks how much of the road a driver who leaves can see."
            );
        }
    }
}
