//! Media: which files of a DICOMDIR (PS3.3 Annex F) may hold a dose report.

use crate::adapters::dataset;
use crate::ports::Unread;
use dicom_core::Tag;
use dicom_dictionary_std::{tags, uids};

/// Files that are looked at.
const FILES_MAX: usize = 10_000;

fn keep(tag: Tag) -> bool {
    matches!(tag, tags::DIRECTORY_RECORD_SEQUENCE | tags::REFERENCED_FILE_ID | tags::REFERENCED_SOP_CLASS_UID_IN_FILE)
}

/// Paths below the folder of the DICOMDIR, as their parts, of every file that may hold a dose report.
///
/// # Errors
/// [`Unread`] if it is no DICOMDIR, ends early, or names a path that leaves its folder.
pub fn media_index(bytes: &[u8]) -> Result<Vec<Vec<String>>, Unread> {
    let opened = dataset::open(bytes)?;
    if opened.class != uids::MEDIA_STORAGE_DIRECTORY_STORAGE {
        return Err(Unread::OtherObject { class: opened.class });
    }
    let walked = opened.walk(keep)?;
    if let Some(at) = walked.truncated_at {
        return Err(Unread::Unreadable { reason: format!("the directory ends early at byte {at}") });
    }
    let records = walked.dataset.items(tags::DIRECTORY_RECORD_SEQUENCE);
    let reports = records.iter().filter(|record| {
        record.uid(tags::REFERENCED_SOP_CLASS_UID_IN_FILE).is_some_and(|class| {
            matches!(
                class,
                uids::X_RAY_RADIATION_DOSE_SR_STORAGE
                    | uids::ENHANCED_X_RAY_RADIATION_DOSE_SR_STORAGE
                    | uids::COMPREHENSIVE_SR_STORAGE
                    | uids::ENHANCED_SR_STORAGE
            )
        })
    });
    reports.take(FILES_MAX).filter_map(|record| record.ascii(tags::REFERENCED_FILE_ID)).map(parts_of).collect()
}

/// Up to eight parts of up to eight characters (PS3.10, 8.2 and 8.5); longer ones occur and are taken.
fn parts_of(id: &str) -> Result<Vec<String>, Unread> {
    let parts: Vec<String> = id.split('\\').map(|part| part.trim().to_owned()).collect();
    let inside = |part: &String| {
        let plain = part.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"_-.".contains(&byte));
        plain && !part.is_empty() && part.len() <= 64 && part != "." && part != ".."
    };
    if parts.len() > 16 || !parts.iter().all(inside) {
        let id: String = id.chars().take(80).collect();
        return Err(Unread::Unreadable { reason: format!("it names \"{id}\", which is no path within the medium") });
    }
    Ok(parts)
}
