//! Dates and times as DICOM writes them (PS3.5, 6.2: DA, TM, DT).

use super::Dataset;
use crate::dose::MachineTime;
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use dicom_dictionary_std::tags;

/// The object's own zone, minutes east of UTC.
pub fn zone_of(dataset: &Dataset<'_>) -> Option<i16> {
    dataset.ascii(tags::TIMEZONE_OFFSET_FROM_UTC).and_then(zone)
}

/// "+0100" as 60. Source: PS3.5, 6.2: from -1200 to +1400.
fn zone(text: &str) -> Option<i16> {
    let (sign, digits) = text.split_at_checked(1)?;
    let sign = match sign {
        "+" => 1,
        "-" => -1,
        _ => return None,
    };
    let (hours, minutes) = (number::<i16>(digits.get(..2)?)?, number::<i16>(digits.get(2..)?)?);
    let offset = sign * (hours * 60 + minutes);
    (digits.len() == 4 && minutes < 60 && (-720..=840).contains(&offset)).then_some(offset)
}

/// A date and time, "YYYYMMDDHHMM" at the least; `object_zone` where the value itself names none.
pub fn date_time(text: &str, object_zone: Option<i16>) -> Option<MachineTime> {
    // A sign among the first digits cannot be a zone, so the search begins after the date.
    let cut = text.get(8..)?.find(['+', '-']).map_or(text.len(), |at| at + 8);
    let (local, own_zone) = text.split_at(cut);
    let offset_min = if own_zone.is_empty() { object_zone } else { Some(zone(own_zone)?) };
    let (date, time) = local.split_at_checked(8)?;
    (time.len() >= 4).then_some(())?;
    Some(MachineTime { local: NaiveDateTime::new(date_of(date)?, time_of(time)?), offset_min })
}

/// When the report was written.
pub fn written(dataset: &Dataset<'_>) -> Option<MachineTime> {
    let (date, time) = (dataset.ascii(tags::CONTENT_DATE)?, dataset.ascii(tags::CONTENT_TIME)?);
    Some(MachineTime { local: NaiveDateTime::new(date_of(date)?, time_of(time)?), offset_min: zone_of(dataset) })
}

/// "YYYYMMDD".
pub fn date_of(text: &str) -> Option<NaiveDate> {
    (text.len() == 8 && text.is_ascii()).then_some(())?;
    NaiveDate::from_ymd_opt(number(&text[..4])?, number(&text[4..6])?, number(&text[6..])?)
}

/// "HH", "HHMM", "HHMMSS" or "HHMMSS.ffffff"; a leap second is kept as one.
pub fn time_of(text: &str) -> Option<NaiveTime> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    (whole.is_ascii() && matches!(whole.len(), 2 | 4 | 6) && fraction.len() <= 6).then_some(())?;
    (fraction.is_empty() || whole.len() == 6).then_some(())?;
    let part = |from: usize| whole.get(from..from + 2).map_or(Some(0), number::<u32>);
    let micro = if fraction.is_empty() { 0 } else { number::<u32>(&format!("{fraction:0<6}"))? };
    let (hour, minute, second) = (part(0)?, part(2)?, part(4)?);
    let (second, micro) = if second == 60 { (59, micro + 1_000_000) } else { (second, micro) };
    NaiveTime::from_hms_micro_opt(hour, minute, second, micro)
}

/// Digits alone: no sign, no space.
fn number<T: std::str::FromStr>(digits: &str) -> Option<T> {
    digits.bytes().all(|byte| byte.is_ascii_digit()).then(|| digits.parse().ok())?
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str, zone: Option<i16>) -> Option<(String, Option<i16>)> {
        date_time(text, zone).map(|time| (time.local.to_string(), time.offset_min))
    }

    #[test]
    fn the_zone_of_the_value_holds_over_that_of_the_object() {
        assert_eq!(said("20260310080500.25-0330", Some(60)), Some(("2026-03-10 08:05:00.250".to_owned(), Some(-210))));
        assert_eq!(said("202603100805", Some(60)), Some(("2026-03-10 08:05:00".to_owned(), Some(60))));
        assert_eq!(said("20260310080500", None), Some(("2026-03-10 08:05:00".to_owned(), None)));
    }

    #[test]
    fn what_is_no_time_is_none() {
        for text in ["", "2026", "20260310", "2026031008", "20261310080500", "20260310256000", "20260310080500+1500"] {
            assert_eq!(said(text, None), None, "{text}");
        }
        for text in ["2026-03-10T08:05", "20260310080500.1234567", "20260310080500+1", "2026031008é500"] {
            assert_eq!(said(text, None), None, "{text}");
        }
    }
}
