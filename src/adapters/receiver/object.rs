//! One received object: what it says it is, the file it becomes, and the name of that file.

use super::negotiate::{Context, IMPLEMENTATION};
use crate::adapters::dataset::{self, Dataset, Texts, Walked, is_uid, times};
use crate::dose::MachineTime;
use crate::ports::{Arrival, ArrivalKind};
use chrono::{DateTime, NaiveDateTime, Utc};
use dicom_core::Tag;
use dicom_dictionary_std::{tags, uids};

const TIME: &str = "%Y%m%dT%H%M%S%3fZ";
const TIME_LENGTH: usize = 19;

/// What of an object is looked at.
pub(super) fn keep(tag: Tag) -> bool {
    matches!(
        tag,
        tags::SPECIFIC_CHARACTER_SET
            | tags::SOP_CLASS_UID
            | tags::SOP_INSTANCE_UID
            | tags::PATIENT_ID
            | tags::CONTENT_DATE
            | tags::CONTENT_TIME
            | tags::ACQUISITION_DATE_TIME
            | tags::ACQUISITION_DATE
            | tags::ACQUISITION_TIME
            | tags::TIMEZONE_OFFSET_FROM_UTC
    )
}

/// Where the preamble ends.
const PREAMBLE: usize = 128;

/// What a file begins with as PS3.10 wants it, preamble and meta information; the data set follows byte for byte as it
/// comes.
pub(super) fn begin(context: &Context, instance: &str, sender: &str, file: &mut Vec<u8>) {
    let mut meta = Vec::with_capacity(512);
    let mut put = |element: u16, vr: &[u8; 2], value: &[u8], padding: u8| {
        let length = value.len() + value.len() % 2;
        meta.extend_from_slice(&[2, 0]);
        meta.extend_from_slice(&element.to_le_bytes());
        meta.extend_from_slice(vr);
        if vr == b"OB" {
            meta.extend_from_slice(&[0, 0]);
            meta.extend_from_slice(&u32::try_from(length).unwrap_or(0).to_le_bytes());
        } else {
            meta.extend_from_slice(&u16::try_from(length).unwrap_or(0).to_le_bytes());
        }
        meta.extend_from_slice(value);
        meta.extend(std::iter::repeat_n(padding, value.len() % 2));
    };
    put(0x0001, b"OB", &[0, 1], 0);
    put(0x0002, b"UI", context.class.as_bytes(), 0);
    put(0x0003, b"UI", instance.as_bytes(), 0);
    put(0x0010, b"UI", context.syntax.as_bytes(), 0);
    put(0x0012, b"UI", IMPLEMENTATION.as_bytes(), 0);
    put(0x0016, b"AE", sender.as_bytes(), b' ');
    file.resize(PREAMBLE, 0);
    file.extend_from_slice(b"DICM\x02\0\0\0UL\x04\0");
    file.extend_from_slice(&u32::try_from(meta.len()).unwrap_or(0).to_le_bytes());
    file.append(&mut meta);
}

/// Name of the file: when it was received, and its UID. Neither says who the patient is.
pub(super) fn name(received: DateTime<Utc>, uid: &str) -> String {
    format!("{}-{uid}.dcm", received.format(TIME))
}

/// Time and UID of a file's name; `None` for a file that is none of ours.
pub(super) fn of_name(name: &str) -> Option<(DateTime<Utc>, &str)> {
    let (time, rest) = name.split_at_checked(TIME_LENGTH)?;
    let uid = rest.strip_prefix('-')?.strip_suffix(".dcm").filter(|uid| is_uid(uid))?;
    let time = NaiveDateTime::parse_from_str(time, TIME).ok()?;
    Some((time.and_utc(), uid))
}

/// What waits, from the begin of its file; unknown if that cannot be read.
pub(super) fn arrival(begin: &[u8], name: &str, uid: &str, received: DateTime<Utc>) -> Arrival {
    let mut arrival = Arrival {
        uid: uid.to_owned(),
        kind: ArrivalKind::Unknown,
        patient_number: None,
        made: None,
        received,
        file: name.to_owned(),
    };
    let Ok(opened) = dataset::open(begin) else { return arrival };
    let Ok(Walked { dataset, .. }) = opened.walk(keep) else { return arrival };
    arrival.kind = kind_of(dataset.uid(tags::SOP_CLASS_UID).unwrap_or(&opened.class));
    arrival.patient_number = Texts::of(&dataset).text(&dataset, tags::PATIENT_ID);
    arrival.made = made(&dataset);
    arrival
}

fn kind_of(class: &str) -> ArrivalKind {
    match class {
        uids::X_RAY_RADIATION_DOSE_SR_STORAGE | uids::ENHANCED_X_RAY_RADIATION_DOSE_SR_STORAGE => {
            ArrivalKind::DoseReport
        }
        uids::X_RAY_ANGIOGRAPHIC_IMAGE_STORAGE
        | uids::ENHANCED_XA_IMAGE_STORAGE
        | uids::X_RAY_RADIOFLUOROSCOPIC_IMAGE_STORAGE
        | uids::ENHANCED_XRF_IMAGE_STORAGE => ArrivalKind::Image,
        // Secondary capture and its multi-frame kin.
        class if class.starts_with(uids::SECONDARY_CAPTURE_IMAGE_STORAGE) => ArrivalKind::Capture,
        _ => ArrivalKind::Unknown,
    }
}

/// When it was made: acquisition before content, since a picture may be sent long after it was taken.
fn made(dataset: &Dataset<'_>) -> Option<MachineTime> {
    let zone = times::zone_of(dataset);
    let whole = dataset.ascii(tags::ACQUISITION_DATE_TIME).and_then(|text| times::date_time(text, zone));
    let pair = |date, time| {
        let local = times::date_of(dataset.ascii(date)?)?.and_time(times::time_of(dataset.ascii(time)?)?);
        Some(MachineTime { local, offset_min: zone })
    };
    whole
        .or_else(|| pair(tags::ACQUISITION_DATE, tags::ACQUISITION_TIME))
        .or_else(|| pair(tags::CONTENT_DATE, tags::CONTENT_TIME))
}
