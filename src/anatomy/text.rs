//! The anatomy in words, as screens and reports print it.

use super::signs::{Compared, Seen, Sign, compare};
use super::{Anatomy, Angle, Score, SideAnatomy, asymmetry, questions};
use crate::units::Side;

/// The last line of every anatomy. ± are said to be what they are above it.
const ADVISORY: &str = "Advisory: the surgeon's reading of the image decides.";
const PLUS_MINUS: &str = "± is one standard deviation.";

/// Everything that is known, a line each.
#[must_use]
pub fn text(anatomy: &Anatomy) -> String {
    let mut lines = Vec::new();
    for question in questions(anatomy) {
        lines.push(format!("Before a segment is called S1: {}", question.words()));
    }
    for side in [Side::Left, Side::Right] {
        if let Some(side) = anatomy.side(side) {
            lines.push(String::new());
            side_lines(side, &mut lines);
        }
    }
    lines.push(String::new());
    lines.extend(asymmetry(anatomy).iter().map(super::Asymmetry::words));
    let midline: Vec<String> = midline_lines(anatomy);
    if !midline.is_empty() {
        lines.push("Mid-sagittal, positive when the anterior end lies nearer the head".to_owned());
        lines.extend(midline);
    }
    lines.push(PLUS_MINUS.to_owned());
    lines.push(ADVISORY.to_owned());
    lines.join("\n").trim_start().to_owned() + "\n"
}

fn side_lines(side: &SideAnatomy, lines: &mut Vec<String>) {
    lines.push(match side.side {
        Side::Left => "Left".to_owned(),
        Side::Right => "Right".to_owned(),
    });
    sign_lines(&compare(&side.readers), lines);
    match Score::of_side(side) {
        Some(score) => lines.push(format!(
            "  Score {:.1} ± {:.1} (S1 coronal {} + 2 × S1 axial {}): {}",
            score.points,
            score.plus_minus,
            shown(side.s1_coronal),
            shown(side.s1_axial),
            score.reading().words()
        )),
        None => lines.push(format!(
            "  Score not known: S1 coronal {}, S1 axial {}",
            shown(side.s1_coronal),
            shown(side.s1_axial)
        )),
    }
    for corridor in &side.corridors {
        let (level, room) = (corridor.level.word(), corridor.room().words());
        lines.push(format!("  {level} corridor {}: {room}", corridor.width));
    }
    for (name, angle) in [("Anterior ala", side.anterior_ala), ("Superior ala", side.superior_ala)] {
        if let Some(angle) = angle {
            lines.push(format!("  {name} {angle}"));
        }
    }
    for at in &side.joint {
        let level = at.level.word();
        lines.push(match at.whole() {
            Some([height, axial, coronal]) => {
                format!(
                    "  Joint, {level}: {height:.0} mm from the S1 endplate, {axial:.0}° axial, {coronal:.0}° coronal"
                )
            }
            None => format!("  Joint, {level}: incomplete, so it says nothing"),
        });
    }
    if let Some(count) = side.foramina {
        lines.push(format!("  {count} anterior foramina"));
    }
}

fn shown(angle: Option<Angle>) -> String {
    angle.map_or("not measured".to_owned(), |angle| angle.to_string())
}

fn sign_lines(compared: &Compared, lines: &mut Vec<String>) {
    match compared.readers {
        0 => {
            lines.push("  Signs: nobody has read them".to_owned());
            return;
        }
        1 => lines.push(
            "  Signs by one reader; a second one agrees in 70 to 81 % only (kappa 0.26 to 0.59): no sign decides anything"
                .to_owned(),
        ),
        _ => lines.push(
            "  Signs by two readers; readers agree in 70 to 81 % only (kappa 0.26 to 0.59): no sign decides anything"
                .to_owned(),
        ),
    }
    let together = [
        ("present", &compared.present),
        ("absent", &compared.absent),
        ("unclear", &compared.unclear),
        ("not looked for", &compared.not_looked_for),
    ];
    for (word, signs) in together {
        if !signs.is_empty() {
            lines.push(format!("    {word}: {}", words(signs)));
        }
    }
    for (sign, first, second) in &compared.disagreed {
        lines.push(format!("    the readers disagree: {}: {}", sign.words(), disagreement(*first, *second)));
    }
}

fn disagreement(first: Seen, second: Seen) -> String {
    format!("{} and {}", first.word(), second.word())
}

fn words(signs: &[Sign]) -> String {
    signs.iter().map(|sign| sign.words()).collect::<Vec<_>>().join("; ")
}

fn midline_lines(anatomy: &Anatomy) -> Vec<String> {
    let midline = &anatomy.midline;
    let angles = [
        ("S1 anterior cortex", midline.s1_anterior_cortex),
        ("S2 anterior cortex", midline.s2_anterior_cortex),
        ("S1 posterior cortex", midline.s1_posterior_cortex),
        ("S1 endplate", midline.s1_endplate),
        ("S1 body, en face", midline.s1_body_normal),
        ("S2 to symphysis", midline.s2_to_symphysis),
    ];
    let lengths = [("S1 to S2", midline.s1_to_s2), ("S2 to symphysis", midline.s2_to_symphysis_distance)];
    let angles = angles.into_iter().filter_map(|(name, angle)| Some(format!("  {name} {}", angle?)));
    let lengths = lengths.into_iter().filter_map(|(name, length)| Some(format!("  {name} {}", length?)));
    angles.chain(lengths).collect()
}
