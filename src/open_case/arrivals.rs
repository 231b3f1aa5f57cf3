//! Whether something received joins a case by itself, or waits for a person.
//!
//! It joins only where the patient's number and the time both agree with one case and with no other. What it does not
//! do: it guesses no near miss of a number, and it moves no file. A dose report that a case does not want any more
//! because it is signed becomes an addendum, which is the caller's business.

use crate::ports::Arrival;
use chrono::{DateTime, FixedOffset, TimeDelta};

/// What of a case an arrival is held against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseSpan {
    /// The hospital's number of the patient, as the plan has it; `None` if it has none.
    pub patient_number: Option<String>,
    pub opened: DateTime<FixedOffset>,
    /// When the case ended, or now for one that runs.
    pub until: DateTime<FixedOffset>,
}

/// What becomes of an arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joins {
    /// The case at this position.
    Case(usize),
    /// It waits for a person.
    Waits(Why),
}

/// Why it waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It names no patient.
    NoNumber,
    /// It does not say when it was made.
    NoTime,
    /// No case has its patient's number.
    OtherPatient,
    /// Its patient has a case, at another time.
    OtherTime,
    /// More than one case agrees.
    Several,
}

/// Decides over all cases of the store; `tolerance` is how far a machine's clock may be off.
///
/// A time without a zone is taken in the zone of each case: the machine and the tablet stand in one room.
#[must_use]
pub fn joins(arrival: &Arrival, cases: &[CaseSpan], tolerance: TimeDelta) -> Joins {
    let number = arrival.patient_number.as_deref().map(str::trim).filter(|number| !number.is_empty());
    let Some(number) = number else { return Joins::Waits(Why::NoNumber) };
    let Some(made) = arrival.made else { return Joins::Waits(Why::NoTime) };
    let same = |case: &CaseSpan| case.patient_number.as_deref().map(str::trim) == Some(number);
    let in_time = |case: &CaseSpan| {
        let at = made.utc_ms(*case.opened.offset());
        let slack = tolerance.num_milliseconds();
        (case.opened.timestamp_millis() - slack..=case.until.timestamp_millis() + slack).contains(&at)
    };
    let of_patient: Vec<usize> = (0..cases.len()).filter(|index| same(&cases[*index])).collect();
    let agreeing: Vec<usize> = of_patient.iter().copied().filter(|index| in_time(&cases[*index])).collect();
    match (agreeing.as_slice(), of_patient.is_empty()) {
        ([one], _) => Joins::Case(*one),
        ([], true) => Joins::Waits(Why::OtherPatient),
        ([], false) => Joins::Waits(Why::OtherTime),
        _ => Joins::Waits(Why::Several),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dose::MachineTime;
    use crate::ports::ArrivalKind;

    fn arrival(number: Option<&str>, made: Option<(&str, Option<i16>)>) -> Arrival {
        Arrival {
            uid: "2.25.1".to_owned(),
            kind: ArrivalKind::DoseReport,
            patient_number: number.map(str::to_owned),
            made: made.map(|(local, offset_min)| MachineTime { local: local.parse().unwrap(), offset_min }),
            received: DateTime::UNIX_EPOCH,
            file: String::new(),
        }
    }

    fn case(number: &str, opened: &str, until: &str) -> CaseSpan {
        CaseSpan {
            patient_number: Some(number.to_owned()),
            opened: opened.parse().unwrap(),
            until: until.parse().unwrap(),
        }
    }

    fn decide(arrival: &Arrival, cases: &[CaseSpan]) -> Joins {
        joins(arrival, cases, TimeDelta::minutes(15))
    }

    /// [R-RECEIVE-7]
    #[test]
    fn it_joins_only_when_number_and_time_agree() {
        let cases = [
            case("A-1", "2026-03-10T07:30:00+01:00", "2026-03-10T09:00:00+01:00"),
            case("B-2", "2026-03-10T07:30:00+01:00", "2026-03-10T09:00:00+01:00"),
        ];
        let at = |time| Some((time, None));
        assert_eq!(decide(&arrival(Some("B-2 "), at("2026-03-10T08:00:00")), &cases), Joins::Case(1));
        assert_eq!(decide(&arrival(Some("A-1"), at("2026-03-10T09:14:59")), &cases), Joins::Case(0));
        let waits = |why| Joins::Waits(why);
        assert_eq!(decide(&arrival(Some("A-1"), at("2026-03-10T09:15:01")), &cases), waits(Why::OtherTime));
        assert_eq!(decide(&arrival(Some("a-1"), at("2026-03-10T08:00:00")), &cases), waits(Why::OtherPatient));
        assert_eq!(decide(&arrival(Some("A-10"), at("2026-03-10T08:00:00")), &cases), waits(Why::OtherPatient));
        assert_eq!(decide(&arrival(Some(" "), at("2026-03-10T08:00:00")), &cases), waits(Why::NoNumber));
        assert_eq!(decide(&arrival(None, at("2026-03-10T08:00:00")), &cases), waits(Why::NoNumber));
        assert_eq!(decide(&arrival(Some("A-1"), None), &cases), waits(Why::NoTime));
    }

    #[test]
    fn a_zone_that_is_named_holds_over_the_room() {
        let cases = [case("A-1", "2026-03-10T07:30:00+01:00", "2026-03-10T09:00:00+01:00")];
        let utc = arrival(Some("A-1"), Some(("2026-03-10T07:00:00", Some(0))));
        assert_eq!(decide(&utc, &cases), Joins::Case(0));
        let local = arrival(Some("A-1"), Some(("2026-03-10T07:00:00", None)));
        assert_eq!(decide(&local, &cases), Joins::Waits(Why::OtherTime));
    }

    #[test]
    fn two_cases_that_agree_leave_it_to_a_person() {
        let cases = [
            case("A-1", "2026-03-10T07:30:00Z", "2026-03-10T08:00:00Z"),
            case("A-1", "2026-03-10T08:05:00Z", "2026-03-10T09:00:00Z"),
        ];
        let between = arrival(Some("A-1"), Some(("2026-03-10T08:02:00", None)));
        assert_eq!(decide(&between, &cases), Joins::Waits(Why::Several));
        assert_eq!(decide(&between, &[]), Joins::Waits(Why::OtherPatient));
    }

    #[test]
    fn a_case_without_a_number_takes_nothing() {
        let mut nameless = case("", "2026-03-10T07:30:00Z", "2026-03-10T09:00:00Z");
        let made = Some(("2026-03-10T08:00:00", None));
        assert_eq!(decide(&arrival(Some(""), made), &[nameless.clone()]), Joins::Waits(Why::NoNumber));
        nameless.patient_number = None;
        assert_eq!(decide(&arrival(Some("A-1"), made), &[nameless]), Joins::Waits(Why::OtherPatient));
    }
}
