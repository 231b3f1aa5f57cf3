//! The data dictionary: what every exported column means.

use super::export::{CASE_COLUMNS, SUMMARY_COLUMNS};

/// One column: its name, the type of its cells, what it means.
pub type Entry = (&'static str, &'static str, &'static str);

/// Every column of every export, each once.
#[must_use]
pub fn dictionary() -> Vec<Entry> {
    ALL.to_vec()
}

const ALL: [Entry; 29] = [
    ("stream", "text", "live cases, stopped cases, void cases, or the same of rehearsals; never mixed"),
    ("group", "text", "what the figures are broken down by; \"all\" is not broken down"),
    ("value", "text", "the group's value"),
    ("machine", "text", "for dose: the C-arm, numbered within the export; dose never pools machines"),
    ("size", "text", "patient size by weight; dose never pools sizes; empty for other quantities in a summary"),
    ("quantity", "text", "what is measured, with its unit: one of the last five columns of a case"),
    ("quantile_type", "text", "type 6 or type 7 after Hyndman and Fan, 1996"),
    ("n", "integer", "cases with a known value; empty where fewer than 5, and where they could be subtracted"),
    ("smallest", "number", "smallest value; empty below 5 cases"),
    ("lower_quartile", "number", "quantile at 25 %; empty below 5 cases"),
    ("median", "number", "quantile at 50 %, the typical value; empty below 5 cases"),
    ("upper_quartile", "number", "quantile at 75 %; empty below 5 cases; no reference level"),
    ("largest", "number", "largest value; empty below 5 cases"),
    ("median_from", "number", "lower end of the 95 % interval of the median, by order statistics"),
    ("median_to", "number", "upper end of the same"),
    ("upper_quartile_from", "number", "lower end of the 95 % interval of the upper quartile; empty below 11 cases"),
    ("upper_quartile_to", "number", "upper end of the same"),
    ("outcome", "text", "finished, cancelled, abandoned, converted or void"),
    ("year", "integer", "year of the operation; no other part of a date leaves"),
    ("pathway", "text", "identifier of the pathway followed"),
    ("age", "text", "age in years; above 89: \"90+\""),
    ("sides", "text", "operated sides of the patient: left, right or both"),
    ("sacrum", "text", "shape as planned: normal, dysmorphic or not judged"),
    ("implants", "integer", "implants placed or planned at the end, both sides"),
    ("shots", "integer", "irradiation events of the case, corrections applied"),
    ("operation_min", "number", "minutes from incision to closure"),
    ("kerma_area_product_gy_cm2", "number", "kerma-area product of the case, Gy·cm²"),
    ("reference_air_kerma_mgy", "number", "air kerma at the reference point, mGy"),
    ("fluoroscopy_s", "number", "fluoroscopy time, s"),
];

/// The dictionary as text, in the order of the columns of a summary, then of a case.
#[must_use]
pub fn dictionary_text() -> String {
    let known = dictionary();
    let line = |column: &&str| {
        let entry = known.iter().find(|(name, _, _)| name == column).expect("every column has its entry");
        format!("{:<26}  {:<8}  {}", entry.0, entry.1, entry.2)
    };
    let part = |title: &str, columns: &[&str]| {
        format!("{title}\n{}\n", columns.iter().map(line).collect::<Vec<_>>().join("\n"))
    };
    let rare = "In an export of cases a value that fewer than 5 cases of the export share is left empty.\n";
    [part("Figures", &SUMMARY_COLUMNS), part("\nCases", &CASE_COLUMNS), format!("\n{rare}")].concat()
}
