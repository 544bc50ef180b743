//! Advance widths of the two faces the printed sheets embed, DejaVu Sans 2.37, read from the `hmtx` tables of its
//! files.
//!
//! A drawing on a screen may be shown in another face of the same family of widths, such as Verdana; labels leave
//! room for that around them.

/// Regular face: space to tilde, in thousandths of the size, rounded up.
#[rustfmt::skip]
const REGULAR: [u16; 95] = [
    318, 401, 460, 838, 637, 951, 780, 275, 391, 391, 500, 838, 318, 361, 318, 337,
    637, 637, 637, 637, 637, 637, 637, 637, 637, 637, 337, 337, 838, 838, 838, 531,
    1000, 685, 687, 699, 771, 632, 576, 775, 752, 295, 295, 656, 558, 863, 749, 788,
    604, 788, 695, 635, 611, 732, 685, 989, 686, 611, 686, 391, 337, 391, 838, 500,
    500, 613, 635, 550, 635, 616, 353, 635, 634, 278, 278, 580, 278, 975, 634, 612,
    635, 635, 412, 521, 393, 634, 592, 818, 592, 592, 525, 637, 337, 637, 838,
];

/// Bold face: space to tilde, in thousandths of the size, rounded up.
#[rustfmt::skip]
const BOLD: [u16; 95] = [
    349, 457, 521, 838, 696, 1002, 873, 307, 458, 458, 523, 838, 380, 416, 380, 366,
    696, 696, 696, 696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 581,
    1000, 774, 763, 734, 831, 684, 684, 821, 837, 373, 373, 775, 638, 996, 837, 851,
    733, 851, 771, 721, 683, 813, 774, 1104, 771, 725, 726, 458, 366, 458, 838, 500,
    500, 675, 716, 593, 716, 679, 436, 716, 712, 343, 343, 666, 343, 1042, 712, 688,
    716, 716, 494, 596, 479, 712, 652, 924, 646, 652, 583, 712, 366, 712, 838,
];

/// Width used for other characters: no letter of western Europe is wider, nor a character of the scripts these faces
/// lack.
const WIDEST: u16 = 1000;
const WIDEST_BOLD: u16 = 1100;

/// Advance width of a character in thousandths of the size; other characters than ASCII count as the widest.
#[must_use]
pub(super) fn thousandths(c: char, strong: bool) -> f64 {
    let (table, widest) = if strong { (&BOLD, WIDEST_BOLD) } else { (&REGULAR, WIDEST) };
    let at = u32::from(c).checked_sub(32).and_then(|i| table.get(usize::try_from(i).ok()?));
    f64::from(at.copied().unwrap_or(widest))
}
