//! Sheets to print and pictures: the options, and the files they produce.
use super::inputs::Faults;
use clap::{Args, ValueEnum};
use std::collections::BTreeMap;
use std::path::Path;
use wideenough::drawing::paper::{Page, Paper, Scale, TitleBlock, page_svg};
use wideenough::drawing::{self, Listed};
use wideenough::geometry::length;
use wideenough::geometry::text::tidy;
use wideenough::opening::{GatePlan, Study};
use wideenough::report;
use wideenough::site::Site;

/// Options of a study for printed sheets and pictures.
#[derive(Clone, Debug, Args)]
pub struct PrintedArgs {
    /// Draw sheets to print on this paper, at a true scale: a PDF of all, and an SVG of each
    #[arg(long, value_enum)]
    paper: Option<PaperWord>,
    /// Scale of the sheets' plans: "20 ft" to an inch, or "1:200"; the largest usual scale that fits if not given
    #[arg(long, value_parser = scale, requires = "paper")]
    scale: Option<Scale>,
    /// Project, for the title block; the plan's own (plan.permit) or its title if not given
    #[arg(long, value_name = "TEXT", requires = "paper")]
    project: Option<String>,
    /// Address of the site, for the title block
    #[arg(long, value_name = "TEXT", requires = "paper")]
    address: Option<String>,
    /// Parcel number, for the title block
    #[arg(long, value_name = "TEXT", requires = "paper")]
    parcel: Option<String>,
    /// Who prepared the sheets, for the title block
    #[arg(long, value_name = "TEXT", requires = "paper")]
    prepared_by: Option<String>,
    /// Date for the title block, printed as typed
    #[arg(long, value_name = "TEXT", requires = "paper")]
    date: Option<String>,
    /// Also write every drawing as a PNG picture
    #[arg(long)]
    png: bool,
}

/// Paper size, in landscape.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum PaperWord {
    /// 8.5 by 11 inches
    Letter,
    /// 11 by 17 inches
    Tabloid,
    /// 210 by 297 millimeters
    A4,
    /// 297 by 420 millimeters
    A3,
}

impl From<PaperWord> for Paper {
    fn from(word: PaperWord) -> Self {
        match word {
            PaperWord::Letter => Self::Letter,
            PaperWord::Tabloid => Self::Tabloid,
            PaperWord::A4 => Self::A4,
            PaperWord::A3 => Self::A3,
        }
    }
}

fn scale(text: &str) -> Result<Scale, String> {
    let wrong =
        || "write a scale as feet to an inch, like \"20 ft\", or as a ratio, like \"1:200\"".to_owned();
    let sound = |number: f64| if number > 0.0 && number <= 1e5 { Ok(number) } else { Err(wrong()) };
    if let Some(ratio) = text.trim().strip_prefix("1:") {
        return sound(ratio.trim().parse().map_err(|_| wrong())?).map(Scale::OneTo);
    }
    let feet = length::parse(text).map_err(|_| wrong())? / 0.3048;
    // To a thousandth of a foot: residues of the conversion are not part of a scale.
    sound((feet * 1000.0).round() / 1000.0).map(Scale::FeetPerInch)
}

/// Title block: entries from the command line, else those of the plan.
fn title_block(study: &Study, args: &PrintedArgs) -> TitleBlock {
    let plan = &study.site.permit;
    let pick = |typed: &Option<String>, planned: &str| {
        typed.as_deref().map_or_else(|| planned.to_owned(), |typed| tidy(typed).into_owned())
    };
    let project = if plan.project.is_empty() { &study.site.title } else { &plan.project };
    TitleBlock {
        project: pick(&args.project, project),
        address: pick(&args.address, &plan.address),
        parcel: pick(&args.parcel, &plan.parcel),
        prepared_by: pick(&args.prepared_by, &plan.prepared_by),
        date: pick(&args.date, &plan.date),
    }
}

/// Checks, before the study runs, that the gate fits on the paper at the requested scale.
pub fn check(args: &PrintedArgs, site: &Site) -> Result<(), Faults> {
    let (Some(paper), Some(scale)) = (args.paper, args.scale) else { return Ok(()) };
    let paper: Paper = paper.into();
    let shown_m = paper.shows_m(scale);
    let across_m = site.gate.opening_m() + 2.0 * site.gate.post.width_m;
    if shown_m > across_m {
        return Ok(());
    }
    let shown = |m| length::show(m, site.units, length::Round::Down);
    Err(Faults::one(format!(
        "--scale: at {} this paper shows {}, and the gate with its posts is {} wide; leave --scale out for the largest \
         usual scale that shows the whole way in",
        scale.words(),
        shown(shown_m),
        shown(across_m)
    )))
}

/// Reports the sheets that do not show the whole way in at the requested scale.
fn tell_cut(cases: &[(String, Vec<Page>)]) {
    let first = || cases.iter().filter_map(|(_, pages)| pages.first());
    let cut: Vec<Scale> = first().filter_map(|page| page.whole_at).collect();
    let smallest = cut.iter().copied().min_by(|a, b| a.units_per_meter().total_cmp(&b.units_per_meter()));
    if let (Some(whole), Some(asked)) = (smallest, first().find_map(|page| page.scale)) {
        eprintln!(
            "warning: --scale: at {} {} of {} sheets show the ground about the gate, not the whole way in; {} shows it \
             on every sheet",
            asked.words(),
            cut.len(),
            cases.len(),
            whole.words()
        );
    }
}

/// Requested files, by name. `drawings` are the study's other files, of which every SVG may become a PNG.
pub fn files(
    study: &Study,
    args: &PrintedArgs,
    drawings: &BTreeMap<String, Vec<u8>>,
) -> Result<BTreeMap<String, Vec<u8>>, Faults> {
    let mut files = BTreeMap::new();
    if args.png {
        for (name, bytes) in drawings {
            if let Some(stem) = name.strip_suffix(".svg") {
                files.insert(format!("{stem}.png"), png(&String::from_utf8_lossy(bytes))?);
            }
        }
    }
    let Some(paper) = args.paper else { return Ok(files) };
    let on = Paper::from(paper);
    let stems = report::file_stems(study).into_iter().enumerate();
    let mut drawn: Vec<(String, Vec<Page>)> =
        stems.map(|(i, stem)| (stem, drawing::case_pages(study, i, on, args.scale))).collect();
    tell_cut(&drawn);
    let stem = |file: String| file.trim_end_matches(".svg").to_owned();
    drawn.extend(study.turns.iter().map(|turn| {
        (stem(report::turn_file(study, turn)), drawing::turn_pages(study, turn, on, args.scale))
    }));
    drawn.extend(study.driving.iter().map(|driving| {
        (stem(report::driving_file(study, driving)), drawing::driving_pages(study, driving, on))
    }));
    drawn.extend(
        drawing::sight_shown(study)
            .into_iter()
            .map(|(rule, shown)| (stem(report::sight_file(rule)), drawing::sight_pages(study, shown, on))),
    );
    let words = report::cover_words(study);
    let waiting = study.gate.as_ref().and_then(GatePlan::hardest_waiting);
    if let Some(index) = waiting {
        // The gate to order and the gate as drawn are two entries of the list on the cover.
        let pages = drawing::gate_pages(study, index, &words, on);
        let mut gates: Vec<Vec<Page>> =
            pages.chunk_by(|a, b| a.name == b.name).map(<[Page]>::to_vec).collect();
        let as_drawn = gates.pop();
        drawn.extend(gates.into_iter().map(|pages| ("gate-to-order".to_owned(), pages)));
        drawn.extend(as_drawn.map(|pages| ("gate".to_owned(), pages)));
    }
    drawn.retain(|(_, pages)| !pages.is_empty());
    let listed: Vec<Listed> = drawn.iter().map(|(_, pages)| Listed::of(pages)).collect();
    let cover = drawing::cover_pages(study, on, &words, &listed);
    drawn.insert(0, ("cover".to_owned(), cover));
    let title = title_block(study, args);
    let count = drawn.iter().map(|(_, pages)| pages.len()).sum();
    let mut sheets = Vec::new();
    for (stem, pages) in &drawn {
        for (i, page) in pages.iter().enumerate() {
            let svg = page_svg(page, &title, sheets.len(), count);
            let further = if i == 0 { String::new() } else { format!("-{}", i + 1) };
            files.insert(format!("{stem}-sheet{further}.svg"), svg.clone().into_bytes());
            sheets.push(svg);
        }
    }
    files.insert("sheets.pdf".to_owned(), pdf(&title.project, &title.prepared_by, &sheets)?);
    Ok(files)
}

/// Joins sheets into one file, in the format given by its extension.
pub fn pages(title: &str, author: &str, svgs: Vec<String>, file: &Path) -> Result<Vec<u8>, Faults> {
    match ending(file).as_str() {
        "pdf" => pdf(title, author, &svgs),
        "svg" | "png" if svgs.len() == 1 => as_named(file, svgs.concat()),
        "svg" | "png" => Err(Faults::one(format!(
            "{}: holds one sheet only, and there are {}; name a PDF, or one turn",
            file.display(),
            svgs.len()
        ))),
        _ => Err(unknown(file)),
    }
}

/// Converts a drawing to the format given by the extension of its file.
pub fn as_named(file: &Path, svg: String) -> Result<Vec<u8>, Faults> {
    match ending(file).as_str() {
        "svg" => Ok(svg.into_bytes()),
        "png" => png(&svg),
        "pdf" => pdf("Drawing", "", &[svg]),
        _ => Err(unknown(file)),
    }
}

fn ending(file: &Path) -> String {
    file.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}

fn unknown(file: &Path) -> Faults {
    Faults::one(format!("{}: name a file that ends in .svg, .png or .pdf", file.display()))
}

#[cfg(feature = "sheets")]
fn png(svg: &str) -> Result<Vec<u8>, Faults> {
    /// Pixels per page unit: the text of a label is 36 pixels high, sharp on a phone and on paper.
    const PIXELS: f32 = 2.0;
    drawing::print::png(svg, PIXELS).map_err(|e| Faults::one(format!("PNG: {e}")))
}

#[cfg(feature = "sheets")]
fn pdf(title: &str, author: &str, pages: &[String]) -> Result<Vec<u8>, Faults> {
    drawing::print::pdf(title, author, pages).map_err(|e| Faults::one(format!("PDF: {e}")))
}

#[cfg(not(feature = "sheets"))]
const LEFT_OUT: &str = "this program was built without sheets: build it with `--features sheets`";

#[cfg(not(feature = "sheets"))]
fn png(_: &str) -> Result<Vec<u8>, Faults> {
    Err(Faults::one(LEFT_OUT))
}

#[cfg(not(feature = "sheets"))]
fn pdf(_: &str, _: &str, _: &[String]) -> Result<Vec<u8>, Faults> {
    Err(Faults::one(LEFT_OUT))
}
