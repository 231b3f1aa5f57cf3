//! From a closed case to the payload of its record.

use super::canonical::{is_digest, signed_integer::Signed};
use super::claim::Claim;
use super::disclosure::SD_ALG;
use super::payload::{
    CArm, Closing, Correction, FORMAT, ImplantCount, MovedShots, PathwayName, PatientClaims, PlanDigest,
    PlannedImplant, PlannedSide, Reasoned, Record, Remark, ShotEntry, Shots, StaffMember, Who,
};
use super::{RecordError, Unsigned, UnsignedRecord, build_places, findings};
use crate::case::{Case, Elapsed, State};
use crate::people::{PersonId, is_thumbprint};
use crate::plan::Plan;
use crate::ports::Randomness;
use crate::units::Side;

/// Where names of staff come from: the roster.
pub type Names<'a> = &'a dyn Fn(&PersonId) -> Option<String>;

/// The closing event's place in the journal's chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChainPoint {
    pub seq: u64,
    /// Lower-case hex SHA-256.
    pub sum: String,
}

/// Builds the record of a closed case. Salts are random, so two records of one case differ: build it once.
///
/// # Errors
/// [`RecordError`] if the case is not closed, the chain point is not that of its closing event, a required signer is
/// missing, or a person is named by anything but a thumbprint.
pub fn build(
    case: &Case,
    closing: &ChainPoint,
    names: Names<'_>,
    random: &dyn Randomness,
) -> Result<UnsignedRecord, RecordError> {
    let record = record(case, closing, names)?;
    Unsigned::new(&record, random)
}

fn record(case: &Case, closing: &ChainPoint, names: Names<'_>) -> Result<Record, RecordError> {
    let state = case.state();
    let (Some(outcome), Some(closed)) = (state.outcome(), state.closed_seq) else { return Err(RecordError::NotClosed) };
    if closed != closing.seq {
        return Err(RecordError::ClosingPoint { closed, given: closing.seq });
    }
    digest("closing.sum", &closing.sum)?;
    digest("pathway.digest", &state.opening.pathway_digest)?;
    people(state)?;
    let opening = &state.opening;
    Ok(Record {
        brimline_record: FORMAT,
        sd_alg: SD_ALG.to_owned(),
        kind: opening.kind,
        exercise: opening.exercise,
        outcome,
        program: opening.program.clone(),
        pathway: PathwayName {
            id: opening.pathway.clone(),
            version: opening.pathway_version.clone(),
            digest: opening.pathway_digest.clone(),
        },
        plan: plan(case.plan(), &opening.plan_digest),
        patient: patient(case.plan()),
        configured: opening.configured.clone(),
        overrides: build_places::overrides(case),
        places: build_places::places(case),
        view_findings: state.view_findings.iter().map(findings::view).collect(),
        pin_findings: state.pin_findings.iter().map(findings::pin).collect(),
        re_aims: state.re_aims.iter().map(|re_aimed| findings::re_aim(state, re_aimed)).collect(),
        moves: state.moves.iter().map(findings::moved).collect(),
        shots: shots(state),
        radiation: super::radiation::radiation(case),
        c_arm: CArm { swaps: state.c_arm_swaps, c_arm_name: Claim::of(state.c_arm.clone()) },
        implants: implants(state),
        remarks: state.remarks.iter().map(remark).collect(),
        stops: state.stops.iter().map(reasoned).collect(),
        pauses: state.pauses.iter().map(reasoned).collect(),
        incision: state.incision.map(Into::into),
        closure: state.closure.map(Into::into),
        returns: state.returns,
        clock_jumps_ms: state.clock_jumps_ms.iter().map(|jump| Signed(*jump)).collect(),
        team: team(state, names),
        continues: opening.continues.as_ref().map(|line| Closing { seq: line.seq, sum: line.sum.clone() }),
        closing: Closing { seq: closing.seq, sum: closing.sum.clone() },
        signers: signers(case)?,
        case_id: Claim::of(Some(opening.case.clone())),
        opened_at: Claim::of(state.opened_at.map(|at| at.to_rfc3339())),
        site: Claim::of(opening.site.clone()),
    })
}

fn digest(what: &'static str, text: &str) -> Result<(), RecordError> {
    if is_digest(text) { Ok(()) } else { Err(RecordError::NotADigest { what }) }
}

/// Everybody who acted is in `took_part`; nobody may stand in a payload under a name.
fn people(state: &State) -> Result<(), RecordError> {
    let everybody = state.took_part.iter().map(|actor| &actor.person).chain(state.team.values());
    match everybody.into_iter().find(|person| !is_thumbprint(&person.0)) {
        Some(person) => Err(RecordError::NotAThumbprint(person.0.clone())),
        None => Ok(()),
    }
}

fn plan(plan: &Plan, digest: &str) -> PlanDigest {
    PlanDigest {
        procedure: plan.procedure,
        sides: plan.sides.iter().map(planned_side).collect(),
        nerves_monitored: plan.nerves_monitored,
        antibiotic: plan.antibiotic,
        compressing: plan.compressing,
        transitional: plan.transitional,
        label: Claim::of(Some(plan.label.clone())),
        cautions: Claim::of(Some(plan.cautions.clone())),
        plan_digest: Claim::of(Some(digest.to_owned())),
    }
}

fn planned_side(side: &crate::plan::SidePlan) -> PlannedSide {
    let implants = side.implants.iter().map(|implant| PlannedImplant {
        diameter_mm: implant.diameter_mm,
        length_mm: implant.length_mm,
        level: Claim::of(Some(implant.level.clone())),
    });
    PlannedSide { side: side.side, sacrum: side.sacrum, implants: implants.collect() }
}

fn patient(plan: &Plan) -> PatientClaims {
    PatientClaims {
        patient_name: Claim::of(Some(plan.patient.name.clone())),
        patient_number: Claim::of(Some(plan.patient.number.clone())),
        patient_age: Claim::of(plan.patient.age),
        patient_weight_kg: Claim::of(plan.patient.weight_kg),
    }
}

fn shots(state: &State) -> Shots {
    let entries = state.shots.iter().map(|shot| ShotEntry {
        seq: shot.seq,
        at: shot.at.into(),
        place: shot.place.clone(),
        shots: shot.shots,
        seconds: shot.seconds,
    });
    let corrections = state.corrections.iter().map(|correction| Correction {
        seq: correction.seq,
        at: correction.at.into(),
        place: correction.place.clone(),
        from: correction.from,
        to: correction.to,
        reason: Claim::of(Some(correction.reason.clone())),
    });
    let moved = state
        .shots_moved
        .iter()
        .map(|(case, shots)| MovedShots { shots: Signed(*shots), other_case: Claim::of(Some(case.clone())) });
    Shots {
        total: state.shots_total(),
        run_seconds: state.run_seconds,
        entries: entries.collect(),
        corrections: corrections.collect(),
        moved: moved.collect(),
    }
}

fn implants(state: &State) -> Vec<ImplantCount> {
    let sides = [Side::Left, Side::Right].into_iter();
    sides
        .filter_map(|side| state.implants.get(&side).map(|implants| ImplantCount { side, implants: *implants }))
        .collect()
}

fn remark(remark: &crate::case::Remark) -> Remark {
    Remark {
        seq: remark.seq,
        at: remark.at.into(),
        place: remark.place.clone(),
        by: Who::from(&remark.by),
        deviation: remark.deviation,
        note: Claim::of(Some(remark.text.clone())),
    }
}

fn reasoned((seq, at, reason): &(u64, Elapsed, String)) -> Reasoned {
    Reasoned { seq: *seq, at: (*at).into(), reason: Claim::of(Some(reason.clone())) }
}

fn team(state: &State, names: Names<'_>) -> Vec<StaffMember> {
    let mut everybody: Vec<Who> = state.took_part.iter().map(Who::from).collect();
    everybody.extend(state.team.iter().map(|(role, person)| Who { role: *role, kid: person.clone() }));
    everybody.sort();
    everybody.dedup();
    let member = |who: Who| StaffMember {
        at_end: state.team.get(&who.role) == Some(&who.kid),
        staff_name: Claim::of(names(&who.kid)),
        role: who.role,
        kid: who.kid,
    };
    everybody.into_iter().map(member).collect()
}

fn signers(case: &Case) -> Result<Vec<Who>, RecordError> {
    let holder = |role: &crate::people::Role| match case.state().team.get(role) {
        Some(person) => Ok(Who { role: *role, kid: person.clone() }),
        None => Err(RecordError::SignerMissing(*role)),
    };
    case.pathway().signers.iter().map(holder).collect()
}
