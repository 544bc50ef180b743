//! Options of a study that concern the gate itself: stock sizes, hardware allowances, rules.
use super::inputs::{self, Faults};
use clap::Args;
use std::path::PathBuf;
use wideenough::gate::{self, RULES, Rule};
use wideenough::geometry::length;
use wideenough::opening::{GateOptions, STOCK_M};

/// Options about the gate itself.
#[derive(Clone, Debug, Args)]
#[command(next_help_heading = "The gate to order")]
pub struct GateArgs {
    /// Stock size of a gate, its leaves together, like "14 ft"; may be repeated. 10 to 20 ft by 2 ft if none is given
    #[arg(long = "stock", value_name = "LENGTH", value_parser = stock, allow_hyphen_values = true)]
    stock: Vec<f64>,
    /// File with the maker's own hardware allowances; examples/gate-allowances.json shows the built-in ones
    #[arg(long, value_name = "FILE")]
    allowances: Option<PathBuf>,
    /// Published rules to check: names separated by commas, or "all" or "none"; by default those not tied to one place
    #[arg(
        long,
        value_name = "NAMES",
        value_delimiter = ',',
        long_help = rules_help(),
    )]
    rules: Vec<String>,
}

/// Range of stock gates: smaller ones are for people on foot, larger ones are not stocked.
const STOCK_RANGE_M: std::ops::RangeInclusive<f64> = 1.0..=15.0;

fn stock(text: &str) -> Result<f64, String> {
    let meters = length::parse(text).map_err(|e| e.to_string())?;
    if STOCK_RANGE_M.contains(&meters) {
        Ok(meters)
    } else {
        {
            let (least, most) = (STOCK_RANGE_M.start(), STOCK_RANGE_M.end());
            Err(format!("a stock size is from {least} to {most} m (3' 4\" to 49 ft)"))
        }
    }
}

fn rules_help() -> String {
    let mut text =
        "Published rules to check: names separated by commas, or \"all\" or \"none\". The local authority \
                    decides which of them apply. Without this option, those marked with a star.\n"
            .to_owned();
    for rule in &RULES {
        let star = if rule.usual { "*" } else { " " };
        text.push_str(&format!("\n{star} {}: {} ({})", rule.name, rule.asks, rule.citation));
    }
    text
}

impl GateArgs {
    /// Returns the gate options, or every fault in them.
    pub fn options(&self) -> Result<GateOptions, Faults> {
        let mut faults = Faults::default();
        let allowances = match &self.allowances {
            None => gate::built_in(),
            Some(path) => match inputs::allowances(path) {
                Ok(read) => read,
                Err(e) => {
                    faults.add(e);
                    gate::built_in()
                }
            },
        };
        let rules = match self.rules() {
            Ok(rules) => rules,
            Err(e) => {
                faults.add(e);
                Vec::new()
            }
        };
        let mut stock_m = if self.stock.is_empty() { STOCK_M.to_vec() } else { self.stock.clone() };
        stock_m.sort_by(f64::total_cmp);
        stock_m.dedup();
        faults.or(GateOptions { allowances, stock_m, rules })
    }

    fn rules(&self) -> Result<Vec<&'static Rule>, Faults> {
        let named: Vec<&str> = self.rules.iter().map(|name| name.trim()).filter(|n| !n.is_empty()).collect();
        let mut faults = Faults::default();
        let words = ["all", "none"];
        for name in named.iter().filter(|name| !words.contains(*name) && gate::rule(name).is_none()) {
            let known: Vec<&str> = RULES.iter().map(|rule| rule.name).collect();
            faults.add(Faults::one(format!(
                "--rules: \"{name}\" is not a rule; the rules are {}, and \"all\" and \"none\"",
                known.join(", ")
            )));
        }
        let chosen = |rule: &&'static Rule| match named.as_slice() {
            [] => rule.usual,
            names => names.contains(&"all") || names.contains(&rule.name),
        };
        faults.or(RULES.iter().filter(chosen).collect())
    }
}
