//! Contrast of every pair of tokens that is used, computed from the token file itself.

use std::collections::BTreeMap;

/// Text, level AAA. Source: WCAG 2.2, success criterion 1.4.6.
const TEXT: f64 = 7.0;
/// Large text, level AAA. Source: WCAG 2.2, success criterion 1.4.6.
const LARGE: f64 = 4.5;
/// Outlines and signs. Source: WCAG 2.2, success criterion 1.4.11.
const OUTLINE: f64 = 3.0;
/// The ratios of the screens' page are rounded to one decimal.
const ROUNDING: f64 = 0.05;

const SURFACES: [&str; 3] = ["ground", "sheet", "raised"];

/// Relative luminance. Source: WCAG 2.2, "relative luminance".
fn luminance([red, green, blue]: [u8; 3]) -> f64 {
    let linear = |channel: u8| {
        let value = f64::from(channel) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
}

/// Contrast ratio, 1 to 21. Source: WCAG 2.2, "contrast ratio".
fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

fn tokens() -> BTreeMap<String, [u8; 3]> {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/ui/tokens/ink.slint");
    let text = std::fs::read_to_string(file).expect("the tokens are there");
    let found: BTreeMap<_, _> = text.lines().filter_map(token).collect();
    assert!(found.len() >= 12, "tokens read: {found:?}");
    found
}

/// `out property <color> name: #RRGGBB;`; a colour with transparency is no pair of anything.
fn token(line: &str) -> Option<(String, [u8; 3])> {
    let (name, value) = line.trim().strip_prefix("out property <color> ")?.split_once(": #")?;
    let digits = value.strip_suffix(';').filter(|digits| digits.len() == 6)?;
    let channel = |at: usize| u8::from_str_radix(&digits[at..at + 2], 16).ok();
    Some((name.to_owned(), [channel(0)?, channel(2)?, channel(4)?]))
}

fn ratio(one: &str, other: &str) -> f64 {
    let tokens = tokens();
    contrast(tokens[one], tokens[other])
}

#[test]
fn formula_gives_the_known_ratios() {
    // Source: WCAG 2.2, black on white is 21:1; a colour on itself is 1:1.
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    assert!((contrast([12, 200, 7], [12, 200, 7]) - 1.0).abs() < 1e-9);
    // Source: W3C technique G18, #767676 on white is just above 4.5:1.
    assert!((contrast([0x76; 3], [255; 3]) - 4.54).abs() < 0.01);
}

/// [R-TABLET-3]
#[test]
fn words_reach_seven_to_one_on_every_surface() {
    for words in ["ink", "soft", "done", "heed"] {
        for surface in SURFACES {
            assert!(ratio(words, surface) >= TEXT, "{words} on {surface}: {:.2}", ratio(words, surface));
        }
    }
    for surface in ["ground", "sheet"] {
        assert!(ratio("beam", surface) >= TEXT, "beam on {surface}");
    }
    assert!(ratio("beam", "raised") >= LARGE, "beam on raised");
}

#[test]
fn words_on_filled_blocks_reach_seven_to_one() {
    // Soft is the main action under a finger; line is what fills a row while it is held.
    for fill in ["ink", "done", "beam", "heed", "soft"] {
        assert!(ratio("on-fill", fill) >= TEXT, "on-fill on {fill}: {:.2}", ratio("on-fill", fill));
    }
    assert!(ratio("ink", "line") >= TEXT, "ink on line: {:.2}", ratio("ink", "line"));
}

#[test]
fn outlines_of_what_is_touched_reach_three_to_one() {
    for outline in ["edge", "ink", "heed", "done"] {
        for surface in SURFACES {
            assert!(ratio(outline, surface) >= OUTLINE, "{outline} on {surface}: {:.2}", ratio(outline, surface));
        }
    }
    // The mark of the present count on the usual range.
    assert!(ratio("ink", "beam-quiet") >= OUTLINE);
}

#[test]
fn stated_ratios_are_the_computed_ones() {
    /// Source: the page of the screens' look and proportions.
    const STATED: [(&str, [f64; 3]); 5] = [
        ("ink", [16.3, 14.5, 12.1]),
        ("soft", [10.2, 9.1, 7.6]),
        ("done", [10.2, 9.1, 7.5]),
        ("beam", [9.0, 8.0, 6.6]),
        ("heed", [10.0, 8.8, 7.4]),
    ];
    for (words, stated) in STATED {
        for (surface, stated) in SURFACES.into_iter().zip(stated) {
            let computed = ratio(words, surface);
            assert!(
                (computed - stated).abs() <= ROUNDING + 1e-9,
                "{words} on {surface}: {computed:.3}, stated {stated}"
            );
        }
    }
}
