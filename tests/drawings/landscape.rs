//! The landscape form of every example's drawings: the texts keep apart, the panels fill the width, and the picture of
//! README.md is the one that is drawn.
use super::crowding::{EXAMPLES, SOME, crowded, hidden, made, missing, picture, root};
use crate::common::every_case;
use std::fs;
use wideenough::drawing::{case_wide_sheet, case_wide_svg};
use wideenough::report::file_stems;

/// The example and the case that README.md shows, and the file of its picture.
const SHOWN: (&str, &str) = ("rural-entrance", "gooseneck-horse-40-eastbound-drive-in");
const PICTURE: &str = "docs/gooseneck-horse-40-eastbound-drive-in-wide.svg";

#[test]
fn no_text_of_a_landscape_drawing_meets_another_or_leaves_its_frame() {
    let mut examples = if every_case() { EXAMPLES.to_vec() } else { SOME.to_vec() };
    if !examples.contains(&SHOWN.0) {
        examples.push(SHOWN.0);
    }
    let (mut faults, mut drawings, mut shown) = (Vec::new(), 0, None);
    for example in &examples {
        let study = made(example);
        for (i, stem) in file_stems(&study).iter().enumerate() {
            let name = format!("{example}/{stem}-wide.svg");
            let sheet = case_wide_sheet(&study, i).unwrap();
            let svg = case_wide_svg(&study, i).unwrap();
            let folder = format!("{}/wide", env!("CARGO_TARGET_TMPDIR"));
            fs::create_dir_all(&folder).unwrap();
            fs::write(format!("{folder}/{example}-{stem}-wide.svg"), &svg).unwrap();
            let picture = picture(&svg);
            faults.extend(crowded(&name, &picture));
            for panel in &sheet.panels {
                faults.extend(missing(&name, panel));
                faults.extend(hidden(&name, panel, true));
            }
            let [plan, gate] = picture.panels[..] else { panic!("{name}: {} panels", picture.panels.len()) };
            let (wide, high) = (picture.page.x1, picture.page.y1);
            if wide < 1.25 * high {
                faults.push(format!("{name}: {wide} by {high} is no landscape"));
            }
            if plan.y0 != gate.y0 || gate.x0 < plan.x1 || wide - gate.x1 > 17.0 {
                faults.push(format!("{name}: {plan:?} and {gate:?} do not stand side by side"));
            }
            if (*example, stem.as_str()) == SHOWN {
                shown = Some(svg);
            }
            drawings += 1;
        }
        assert!(case_wide_svg(&study, study.cases.len()).is_none());
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    assert!(drawings >= 30, "only {drawings} drawings");
    let (file, shown) = (root().join(PICTURE), shown.expect("the picture of README.md is drawn"));
    if std::env::var_os("BLESS").is_some_and(|v| v == "1") {
        fs::write(&file, &shown).unwrap();
    }
    assert!(fs::read_to_string(root().join("README.md")).unwrap().contains(PICTURE));
    assert!(
        fs::read_to_string(&file).is_ok_and(|committed| committed == shown),
        "{PICTURE} is not what is drawn; BLESS=1 cargo test --test drawings landscape accepts it"
    );
}
