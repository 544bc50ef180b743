//! `gate-schedule.txt`: every arrangement in every stock size, with the vehicles that pass, its dimensions and weight,
//! the allowances with their sources, and the rules.
use super::gate_words::{drawn, order_answer, order_remarks, rule_words, run_back_words, stopped};
use super::table::{clear_table, wrapped};
use super::words::{Line, sentence_start};
use crate::gate::{MAKERS_DIFFER, Measure, RULES, RuleOutcome, arrangement_words};
use crate::geometry::Units;
use crate::geometry::length::{Round, show, show_fine};
use crate::opening::{
    ArrangementNeeds, Demanded, DrawnGate, GatePlan, OpeningNeeds, ScheduleRow, Study, Verdict,
};
use comfy_table::{ColumnConstraint, Table, Width};

/// Kilograms in a pound.
const POUND_KG: f64 = 0.453_592_37;

/// The schedule as text, no line wider than `width`; `None` if the study does not include the gate.
#[must_use]
pub fn gate_schedule(study: &Study, width: u16) -> Option<String> {
    let plan = study.gate.as_ref()?;
    let units = study.site.units;
    let mut page = Page { text: String::new(), width };
    page.say(&format!("{}: gate schedule", study.site.title));
    page.say(MAKERS_DIFFER);
    page.say(
        "Planning aid only: local codes, the fire authority and licensed professionals decide. A powered gate can crush: \
         follow its safety standards (in the United States UL 325 and ASTM F2200).",
    );
    page.gap("The gate as drawn");
    drawn(study, plan).iter().for_each(|line| page.say(line));
    page.gap("The gate to order");
    page.say(&order_answer(study, plan));
    order_remarks(study, plan).iter().for_each(|line| page.say(line));
    page.gap("How to read it");
    let columns = if plan.columns_around_m(&study.site.gate.post).is_some() {
        "Columns: inner face to inner face, with the posts inside them; a gate hung on the columns themselves has them \
         where the posts' faces are."
    } else {
        "The posts drawn are as wide as columns: build columns in their place, as far apart as the posts."
    };
    page.say(&format!(
        "Size: the size the gate is sold by, its leaves together; * marks the smallest that serves every vehicle in comfort. Clear: left between the open leaves, standing at 90 \
         degrees. Posts: inner face to inner face, the opening. Outside: over both posts. {columns} \
         Depth: clear depth the leaves take; of a sliding leaf, the room beside the opening with its tail. Wire: under \
         the drive, post to post."
    ));
    page.say(
        "Each vehicle's verdict: comfortable with the study's clearance, tight without it, backing if it can only back in, \
         no if no way in was found, no room if the leaf cannot open. Needs are openings: compare them with Posts, not with the size \
         that heads a column. Needs of arrangements that are not drawn come from a shorter search. Each width \
         is certain to be enough.",
    );
    if study.demanded.contains(&Demanded::TurnAround) {
        page.say(
            "For a vehicle that turns around inside, the first line is for the whole visit: driving in, the turn and \
             driving out forward, with that gate's leaves open. The lines below it are for the two ways alone.",
        );
    }
    for of in &plan.arrangements {
        let name = sentence_start(&arrangement_words(of.arrangement, of.opens));
        page.gap(&if of.drawn { format!("{name}, as drawn") } else { name });
        page.grid(&sizes(study, plan, of, width));
        page.text.push('\n');
        page.grid(&verdicts(study, plan, of, width));
        notes(plan, of, units).iter().for_each(|line| page.say(line));
    }
    page.gap("Weight of a leaf, and the pull on its top hinge");
    page.grid(&weights(plan, units, width));
    page.say(&format!(
        "Pull: weight times width over twice the distance of the hinges, {} here, by statics; for a leaf that no wheel \
         carries.",
        show(plan.allowances.hinge_spacing_m, units, Round::Nearest)
    ));
    page.gap("Allowances");
    allowances(&mut page, plan, units);
    page.gap("Rules checked");
    for finding in &plan.rules {
        match rule_words(finding, units) {
            Some(words) => page.say(&words),
            None if finding.outcome == RuleOutcome::Kept => {
                page.say(&format!(
                    "Kept: {}, {} ({}).",
                    finding.rule.name, finding.rule.asks, finding.rule.citation
                ));
            }
            None => {}
        }
    }
    if plan.rules.is_empty() {
        page.say("None.");
    }
    let others: Vec<&str> = RULES
        .iter()
        .map(|rule| rule.name)
        .filter(|name| plan.rules.iter().all(|finding| finding.rule.name != *name))
        .collect();
    if !others.is_empty() {
        page.say(&format!("Others that --rules can choose: {}.", others.join(", ")));
    }
    page.say("The local authority decides which rules apply here.");
    Some(page.text)
}

/// Text being written.
struct Page {
    text: String,
    width: u16,
}

impl Page {
    fn say(&mut self, line: &str) {
        for line in wrapped(&Line::plain(line), self.width) {
            self.text.push_str(&line.text);
            self.text.push('\n');
        }
    }
    fn gap(&mut self, heading: &str) {
        self.text.push('\n');
        self.say(heading);
    }
    fn grid(&mut self, table: &Table) {
        for line in table.to_string().lines() {
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }
}

fn sizes(study: &Study, plan: &GatePlan, of: &ArrangementNeeds, width: u16) -> Table {
    let units = study.site.units;
    let with_columns = plan.columns_around_m(&study.site.gate.post).is_some();
    let mut table = clear_table(width);
    let columns = with_columns.then_some("Columns");
    let names = ["Size", "Leaf", "Clear", "Posts", "Outside"].into_iter().chain(columns);
    table.set_header(names.chain(["Depth", "Openers", "Wire"]));
    let smallest = plan.smallest(of).map(|row| row.assembly.stock_m);
    for row in plan.rows(of) {
        let a = &row.assembly;
        let mark = if smallest == Some(a.stock_m) { " *" } else { "" };
        let depth = if a.run_back_m > 0.0 { a.run_back_m } else { a.swing_depth_m };
        let mut cells = vec![
            format!("{}{mark}", show(a.stock_m, units, Round::Nearest)),
            show(a.leaf_width_m, units, Round::Nearest),
            show(a.clear_m, units, Round::Down),
            // To the half inch: dimensions that columns are built by are rounded up.
            show_fine(a.opening_m, units, Round::Up),
            show_fine(a.outside_m, units, Round::Up),
        ];
        // Posts that are columns themselves have none around them.
        cells.extend(with_columns.then(|| show_fine(a.column_face_m, units, Round::Up)));
        cells.extend([
            show(depth, units, Round::Up),
            a.openers.to_string(),
            a.conduit_m.map_or_else(|| "none".to_owned(), |m| show(m, units, Round::Up)),
        ]);
        table.add_row(cells);
    }
    padded(table)
}

fn padded(mut table: Table) -> Table {
    table.column_iter_mut().for_each(|column| {
        column.set_padding((0, 2));
    });
    table
}

/// A row per vehicle, a column per size.
fn verdicts(study: &Study, plan: &GatePlan, of: &ArrangementNeeds, width: u16) -> Table {
    let units = study.site.units;
    let mut table = clear_table(width);
    let rows: Vec<&ScheduleRow> = plan.rows(of).collect();
    let sizes = rows.iter().map(|row| show(row.assembly.stock_m, units, Round::Nearest));
    let header = ["Vehicle".to_owned(), "Needs".to_owned(), "In comfort".to_owned()];
    table.set_header(header.into_iter().chain(sizes));
    let need = |m: Option<f64>| m.map_or_else(|| "not found".to_owned(), |m| show(m, units, Round::Up));
    for (index, vehicle) in study.vehicles.iter().enumerate() {
        let needs = of.needs.get(index).copied().unwrap_or_default();
        let words = rows.iter().map(|row| match row.passes.get(index) {
            // A gate whose leaf cannot open lets nobody in.
            Some(_) if cannot_open(row) => "no room".to_owned(),
            Some(Verdict::Comfortable) => "comfort".to_owned(),
            Some(Verdict::Tight) => "tight".to_owned(),
            Some(Verdict::OnlyBackingIn) => "backing".to_owned(),
            Some(Verdict::No) => "no".to_owned(),
            None => String::new(),
        });
        let first = [sentence_start(&vehicle.title), need(needs.bare_m), need(needs.comfortable_m)];
        table.add_row(first.into_iter().chain(words));
        let mut add =
            |name: &str, needs: &OpeningNeeds, of_row: &dyn Fn(&ScheduleRow) -> Option<DrawnGate>| {
                let words = rows.iter().map(|row| match of_row(row) {
                    Some(_) if cannot_open(row) => "no room",
                    Some(DrawnGate::Comfortable) => "comfort",
                    Some(DrawnGate::Tight) => "tight",
                    Some(DrawnGate::No) => "no",
                    None => "",
                });
                let first = [name.to_owned(), need(needs.bare_m), need(needs.comfortable_m)];
                table.add_row(first.into_iter().chain(words.map(str::to_owned)));
            };
        // The result of backing in, if that is not required.
        if let Some(back) = of.backing_in.get(index).and_then(Option::as_ref) {
            add("- backing in", back, &|row| row.backing_in.get(index).copied().flatten());
        }
        // The two ways of a visit that turns around inside.
        if let Some(needs) = of.in_and_out.get(index).and_then(Option::as_ref) {
            let both = |row: &ScheduleRow| row.in_and_out.get(index).copied().flatten();
            add("- driving in", &needs.drive_in, &|row| Some(both(row)?.drive_in));
            add("- driving out", &needs.drive_out, &|row| Some(both(row)?.drive_out));
        }
    }
    let mut table = padded(table);
    // No word of a title is broken, however many sizes stand beside it.
    let words = study.vehicles.iter().flat_map(|vehicle| vehicle.title.split(' '));
    let longest =
        words.map(|word| word.chars().count()).max().and_then(|count| u16::try_from(count + 2).ok());
    if let (Some(column), Some(longest)) = (table.column_mut(0), longest) {
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(longest.min(width / 4))));
    }
    table
}

/// True if something stands in the way of a leaf even closed, or of the run of a sliding one.
fn cannot_open(row: &ScheduleRow) -> bool {
    row.swings.iter().any(|swing| swing.stop.is_some() && swing.reach_rad <= 0.0)
        || row.run_back.as_ref().is_some_and(|back| back.stop.is_some())
}

/// Drawbacks of the sizes, beside the vehicles that pass: each once, after the sizes it applies to.
fn notes(plan: &GatePlan, of: &ArrangementNeeds, units: Units) -> Vec<String> {
    let mut notes: Vec<(String, Vec<String>)> = Vec::new();
    for row in plan.rows(of) {
        for note in notes_of(row, units) {
            let size = show(row.assembly.stock_m, units, Round::Nearest);
            match notes.iter_mut().find(|(known, _)| *known == note) {
                Some((_, sizes)) => sizes.push(size),
                None => notes.push((note, vec![size])),
            }
        }
    }
    notes.into_iter().map(|(note, sizes)| format!("{}: {note}", sizes.join(", "))).collect()
}

/// Drawbacks of one size.
fn notes_of(row: &ScheduleRow, units: Units) -> Vec<String> {
    let mut lines: Vec<String> = row.swings.iter().filter_map(|s| stopped(s, units)).collect();
    lines.extend(row.run_back.iter().filter(|b| b.stop.is_some()).map(|b| run_back_words(b, units)));
    if !row.assembly.usual {
        lines.push("A leaf this wide is seldom made; ask the maker.".to_owned());
    }
    if row.waiting_missing_m > 0.0 {
        lines.push(format!(
            "Waiting for it, a vehicle stands up to {} in the road.",
            show(row.waiting_missing_m, units, Round::Up)
        ));
    }
    if !row.fits_drawn {
        lines.push("Wider than the opening drawn.".to_owned());
    }
    lines
}

/// A weight in pounds or kilograms.
fn weight(kg: f64, units: Units) -> String {
    match units {
        Units::Feet => format!("{:.0} lb", (kg / POUND_KG).round() + 0.0),
        Units::Meters => format!("{:.0} kg", kg.round() + 0.0),
    }
}

/// The weights of every leaf width of the schedule, each once.
fn weights(plan: &GatePlan, units: Units, width: u16) -> Table {
    let mut table = clear_table(width);
    let names = plan.allowances.materials.iter();
    let columns = names.flat_map(|m| [sentence_start(&m.name), "pull".to_owned()]);
    table.set_header(std::iter::once("Leaf".to_owned()).chain(columns));
    let mut rows: Vec<&ScheduleRow> = plan.schedule.iter().filter(|row| row.run_back.is_none()).collect();
    rows.sort_by(|a, b| a.assembly.leaf_width_m.total_cmp(&b.assembly.leaf_width_m));
    rows.dedup_by(|a, b| (a.assembly.leaf_width_m - b.assembly.leaf_width_m).abs() < 1e-6);
    for row in rows {
        let a = &row.assembly;
        let cells = a.weights.iter().flat_map(|w| {
            let pull = w.hinge_pull_kg.map_or_else(String::new, |kg| weight(kg, units));
            [weight(w.weight_kg, units), pull]
        });
        table.add_row(std::iter::once(show(a.leaf_width_m, units, Round::Nearest)).chain(cells));
    }
    padded(table)
}

fn allowances(page: &mut Page, plan: &GatePlan, units: Units) {
    if !plan.allowances.about.is_empty() {
        page.say(&plan.allowances.about);
    }
    for figure in &plan.allowances.figures {
        let much = match figure.measure {
            Measure::Length(m) => format!("{} ({:.4} m)", show_fine(m, units, Round::Nearest), m),
            Measure::Share(share) => format!("{:.0} % of the opening", share * 100.0),
            Measure::WeightPerWidth(kg) => match units {
                Units::Feet => format!("{:.1} lb for each foot of width", kg / POUND_KG * 0.3048),
                Units::Meters => format!("{kg:.1} kg for each meter of width"),
            },
        };
        page.say(&format!("{}: {much}. {}", figure.name.replace('_', " "), figure.source));
    }
}
