//! Content items of a structured report (PS3.3 C.17.3): a view over the items of a data set.

use super::codes::Pair;
use crate::adapters::dataset::{Dataset, Texts};
use dicom_core::Tag;
use dicom_dictionary_std::tags;

/// Attributes that content items are made of.
pub(super) fn keep(tag: Tag) -> bool {
    matches!(
        tag,
        tags::CONTENT_SEQUENCE
            | tags::CONCEPT_NAME_CODE_SEQUENCE
            | tags::CONCEPT_CODE_SEQUENCE
            | tags::CODE_VALUE
            | tags::LONG_CODE_VALUE
            | tags::CODING_SCHEME_DESIGNATOR
            | tags::CODE_MEANING
            | tags::MEASURED_VALUE_SEQUENCE
            | tags::NUMERIC_VALUE
            | tags::MEASUREMENT_UNITS_CODE_SEQUENCE
            | tags::TEXT_VALUE
            | tags::DATE_TIME
            | tags::UID
            | tags::REFERENCED_SOP_SEQUENCE
            | tags::REFERENCED_SOP_INSTANCE_UID
            | tags::VALUE_TYPE
    )
}

/// One content item.
#[derive(Clone, Copy)]
pub(super) struct Node<'a>(pub &'a Dataset<'a>);

/// Scheme and code of the first item of a code sequence.
fn code<'a>(dataset: &'a Dataset<'a>, sequence: Tag) -> Option<Pair<'a>> {
    let item = dataset.items(sequence).first()?;
    let value = item.ascii(tags::CODE_VALUE).or_else(|| item.ascii(tags::LONG_CODE_VALUE))?;
    Some((item.ascii(tags::CODING_SCHEME_DESIGNATOR)?, value))
}

impl<'a> Node<'a> {
    /// Concept name.
    pub fn name(self) -> Option<Pair<'a>> {
        code(self.0, tags::CONCEPT_NAME_CODE_SEQUENCE)
    }

    /// The concept name's code, if it is of the scheme DCM.
    pub fn dcm(self) -> Option<&'a str> {
        self.name().filter(|(scheme, _)| *scheme == "DCM").map(|(_, code)| code)
    }

    pub fn is(self, code: &str) -> bool {
        self.dcm() == Some(code)
    }

    pub fn children(self) -> impl Iterator<Item = Node<'a>> {
        self.0.items(tags::CONTENT_SEQUENCE).iter().map(Node)
    }

    pub fn is_container(self) -> bool {
        self.0.ascii(tags::VALUE_TYPE) == Some("CONTAINER")
    }

    /// Value of a CODE item.
    pub fn code_value(self) -> Option<Pair<'a>> {
        code(self.0, tags::CONCEPT_CODE_SEQUENCE)
    }

    /// Meaning of a CODE item's value, or the text of a TEXT item.
    pub fn meaning(self, texts: &Texts) -> Option<String> {
        let coded = self.0.items(tags::CONCEPT_CODE_SEQUENCE).first();
        coded.and_then(|item| texts.text(item, tags::CODE_MEANING)).or_else(|| texts.text(self.0, tags::TEXT_VALUE))
    }

    /// Value of a UIDREF item.
    pub fn uid_value(self) -> Option<&'a str> {
        self.0.uid(tags::UID)
    }

    /// Value of a DATETIME item.
    pub fn date_time(self) -> Option<&'a str> {
        self.0.ascii(tags::DATE_TIME)
    }

    /// The number of a NUM item as it is written, and scheme and code of its unit; `None` if it holds no value.
    pub fn number(self) -> Option<(&'a str, Option<Pair<'a>>)> {
        let measured = self.0.items(tags::MEASURED_VALUE_SEQUENCE).first()?;
        Some((measured.ascii(tags::NUMERIC_VALUE)?, code(measured, tags::MEASUREMENT_UNITS_CODE_SEQUENCE)))
    }

    /// UID of the image that an IMAGE item refers to.
    pub fn image(self) -> Option<&'a str> {
        self.0.items(tags::REFERENCED_SOP_SEQUENCE).first()?.uid(tags::REFERENCED_SOP_INSTANCE_UID)
    }
}
