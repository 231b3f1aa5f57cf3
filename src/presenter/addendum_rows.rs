//! An addendum being written as the rows of its screen, what can be chosen in each, and what keeps it from being signed.

use super::addendum::{Adds, Draft};
use super::questions::row;
use crate::people::{Role, Roster};
use crate::record::{NerveFinding, NerveRoot, Record, Sensation, Who};
use crate::units::Side;
use brimline_ui::{FieldLine, PickRow};
use chrono::{DateTime, FixedOffset};

/// One nerve root of one side, as far as it is filled in.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Finding {
    side: Side,
    root: NerveRoot,
    power: Option<u8>,
    sensation: Option<Sensation>,
}

impl Finding {
    /// The finding, once both are filled in.
    pub fn complete(&self) -> Option<NerveFinding> {
        let Self { side, root, .. } = *self;
        Some(NerveFinding { side, root, power: self.power?, sensation: self.sensation? })
    }

    fn label(&self) -> String {
        format!("{} {:?}", self.side, self.root)
    }

    fn id(&self, what: &str) -> String {
        format!("{what}-{}-{:?}", self.side, self.root)
    }
}

/// Grades of muscle power, best first. Source: Medical Research Council scale, from memory.
const POWERS: [(u8, &str); 6] = [
    (5, "full"),
    (4, "against some resistance"),
    (3, "against gravity alone"),
    (2, "only without gravity"),
    (1, "a flicker"),
    (0, "none"),
];
const FEELINGS: [(Sensation, &str, &str); 3] = [
    (Sensation::Unchanged, "unchanged", "As before the operation"),
    (Sensation::Reduced, "reduced", "Less than before"),
    (Sensation::Absent, "absent", "None"),
];

/// Nothing found yet, at both roots of each operated side.
pub(super) fn findings(record: &Record) -> Vec<Finding> {
    let sides = record.plan.sides.iter().map(|side| side.side);
    let roots = sides.flat_map(|side| [NerveRoot::L5, NerveRoot::S1].map(|root| (side, root)));
    roots.map(|(side, root)| Finding { side, root, power: None, sensation: None }).collect()
}

/// What is added, in words.
pub(super) fn kind(adds: &Adds) -> &'static str {
    match adds {
        Adds::Recovery(_) => "Recovery examination",
        Adds::Correction(_) => "Correction",
    }
}

pub(super) fn question(adds: &Adds) -> &'static str {
    match adds {
        Adds::Recovery(_) => "Examined awake, against the baseline before the operation",
        Adds::Correction(_) => "Say which entry is wrong and what is right",
    }
}

pub(super) fn note_title(adds: &Adds) -> &'static str {
    match adds {
        Adds::Recovery(_) => "What else was found",
        Adds::Correction(_) => "What is right",
    }
}

fn field(id: &str, label: &str, value: &str, detail: &str) -> FieldLine {
    FieldLine { id: id.into(), label: label.into(), value: value.into(), detail: detail.into(), ..FieldLine::default() }
}

/// A row that must be filled.
fn wanted(line: FieldLine) -> FieldLine {
    FieldLine { heed: line.heed || line.value.is_empty(), ..line }
}

/// All rows. `signer`: name and role.
pub(super) fn fields(draft: &Draft, signer: String) -> Vec<FieldLine> {
    let mut fields = Vec::new();
    let note = match &draft.adds {
        Adds::Recovery(findings) => {
            fields.extend(findings.iter().flat_map(of_root));
            field("note", "Note", &draft.note, "may stay empty")
        }
        Adds::Correction(entry) => {
            let words = entry.as_ref().map_or("The record as a whole", |(_, words)| words.as_str());
            fields.push(field("entry", "Entry", words, ""));
            wanted(field("note", "What is right", &draft.note, ""))
        }
    };
    fields.push(note);
    fields.push(wanted(field("signer", "Written and signed by", &signer, "")));
    fields
}

fn of_root(finding: &Finding) -> [FieldLine; 2] {
    let power = POWERS.iter().find(|(grade, _)| Some(*grade) == finding.power);
    let (value, detail) = power.map_or((String::new(), ""), |(grade, words)| (format!("{grade} of 5"), *words));
    let power = field(&finding.id("power"), &format!("Power, {}", finding.label()), &value, detail);
    let power = FieldLine { heed: finding.power.is_some_and(|power| power < 5), ..power };
    let words = FEELINGS.iter().find(|(feeling, ..)| Some(*feeling) == finding.sensation);
    let feeling = words.map_or("", |(.., words)| *words);
    let feeling = field(&finding.id("feeling"), &format!("Feeling, {}", finding.label()), feeling, "");
    let less = finding.sensation.is_some_and(|feeling| feeling != Sensation::Unchanged);
    [wanted(power), wanted(FieldLine { heed: less, ..feeling })]
}

/// What can be chosen in a row of the examination: title, hint, rows.
pub(super) fn choices(draft: &Draft, id: &str) -> Option<(String, &'static str, Vec<PickRow>)> {
    let Adds::Recovery(findings) = &draft.adds else { return None };
    let finding = findings.iter().find(|finding| id == finding.id("power") || id == finding.id("feeling"))?;
    if id == finding.id("power") {
        let grade = |(grade, words): &(u8, &str)| {
            row(&grade.to_string(), &format!("{grade} of 5"), words, finding.power == Some(*grade))
        };
        let title = format!("Power, {}", finding.label());
        return Some((title, "Grades of the Medical Research Council", POWERS.iter().map(grade).collect()));
    }
    let feeling =
        |(feeling, id, words): &(Sensation, &str, &str)| row(id, words, "", finding.sensation == Some(*feeling));
    Some((format!("Feeling, {}", finding.label()), "", FEELINGS.iter().map(feeling).collect()))
}

/// A choice was made in a row of the examination.
pub(super) fn choose(draft: &mut Draft, field: &str, id: &str) {
    let Adds::Recovery(findings) = &mut draft.adds else { return };
    for finding in findings {
        if field == finding.id("power") {
            finding.power = POWERS.iter().find(|(grade, _)| grade.to_string() == id).map(|(grade, _)| *grade);
        } else if field == finding.id("feeling") {
            finding.sensation = FEELINGS.iter().find(|(_, known, _)| *known == id).map(|(feeling, ..)| *feeling);
        }
    }
}

/// The record as a whole, then every answered check of it.
pub(super) fn entries(draft: &Draft) -> Vec<PickRow> {
    let chosen = match &draft.adds {
        Adds::Correction(Some((seq, _))) => Some(*seq),
        _ => None,
    };
    let whole = row("whole", "The record as a whole", "or something that stands nowhere in it", chosen.is_none());
    let checks = answered(draft.record.document());
    let check = |(seq, text, place): (u64, String, String)| row(&seq.to_string(), &text, &place, chosen == Some(seq));
    std::iter::once(whole).chain(checks.map(check)).collect()
}

fn answered(record: &Record) -> impl Iterator<Item = (u64, String, String)> + '_ {
    record.places.iter().flat_map(|place| {
        place
            .checks
            .iter()
            .filter_map(|check| Some((check.done.as_ref()?.seq, check.text.clone(), place.title.clone())))
    })
}

/// The entry of that number, with its words; nothing for the record as a whole.
pub(super) fn entry(draft: &Draft, id: &str) -> Option<(u64, String)> {
    let seq = id.parse::<u64>().ok()?;
    answered(draft.record.document()).find(|(known, ..)| *known == seq).map(|(seq, text, _)| (seq, text))
}

/// Who can write an addendum: those of the case first, with the key that signs now, then everybody on the roster.
pub(super) fn signers(roster: &Roster, record: &Record) -> Vec<Who> {
    let team = record.team.iter().filter_map(|member| {
        let present = roster.present(&member.kid).filter(|person| person.roles().contains(&member.role))?;
        Some(Who { role: member.role, kid: present.kid().clone() })
    });
    let mut team: Vec<Who> = team.collect();
    team.sort_by_key(|who| who.role != Role::Surgeon);
    let others = roster.people().iter().filter(|person| !person.retired());
    let others =
        others.flat_map(|person| person.roles().iter().map(|role| Who { role: *role, kid: person.kid().clone() }));
    for who in others {
        if !team.contains(&who) {
            team.push(who);
        }
    }
    let mut known = Vec::new();
    team.retain(|who| {
        !known.contains(who) && {
            known.push(who.clone());
            true
        }
    });
    team
}

/// What keeps the addendum from being signed; empty: nothing.
pub(super) fn refusal(draft: &Draft) -> String {
    let open = match &draft.adds {
        Adds::Recovery(findings) => findings.iter().find_map(|finding| match (finding.power, finding.sensation) {
            (None, _) => Some(format!("Power, {} is not filled in", finding.label())),
            (_, None) => Some(format!("Feeling, {} is not filled in", finding.label())),
            _ => None,
        }),
        Adds::Correction(_) => draft.note.is_empty().then(|| "Nothing is said to be right yet".to_owned()),
    };
    match open {
        Some(open) => open,
        None if draft.signer.is_none() => "Nobody on the roster can sign".to_owned(),
        None if opened_at(draft.record.document()).is_none() => {
            "The record does not say when its case was opened, so the time of this cannot be told".to_owned()
        }
        None => String::new(),
    }
}

fn opened_at(record: &Record) -> Option<DateTime<FixedOffset>> {
    record.opened_at.value().and_then(|text| DateTime::parse_from_rfc3339(text).ok())
}

/// Milliseconds from the opening of the record's case.
pub(super) fn after_ms(record: &Record, now: DateTime<FixedOffset>) -> Option<u64> {
    u64::try_from((now - opened_at(record)?).num_milliseconds()).ok()
}
