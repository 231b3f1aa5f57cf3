//! Values of elements as numbers. An empty value counts as absent; one that is no number is refused by the name of its
//! attribute.

use super::super::one_line;
use super::elements::Elements;
use crate::ports::image::ImageError;
use dicom_core::Tag;

impl Elements<'_> {
    /// A value of two bytes (US, or SS by its bits).
    pub fn number(&self, tag: Tag, attribute: &'static str) -> Result<Option<u16>, ImageError> {
        let Some(bytes) = self.bytes(tag) else { return Ok(None) };
        let pair = <[u8; 2]>::try_from(bytes).map_err(|_| ImageError::Unusable {
            attribute,
            value: format!("a value of {} bytes", bytes.len()),
            reason: "two are wanted",
        })?;
        Ok(Some(u16::from_le_bytes(pair)))
    }

    pub fn wanted_number(&self, tag: Tag, attribute: &'static str) -> Result<u16, ImageError> {
        self.number(tag, attribute)?.ok_or(ImageError::Missing { attribute })
    }

    /// A whole number in digits (IS).
    pub fn whole(&self, tag: Tag, attribute: &'static str) -> Result<Option<i64>, ImageError> {
        let Some(text) = self.written(tag, attribute)? else { return Ok(None) };
        let value = text.parse().map_err(|_| unusable(attribute, text, "not a whole number"))?;
        Ok(Some(value))
    }

    /// Decimals separated by backslashes (DS).
    pub fn decimals(&self, tag: Tag, attribute: &'static str) -> Result<Vec<f64>, ImageError> {
        let Some(text) = self.written(tag, attribute)? else { return Ok(Vec::new()) };
        let read = |part: &str| part.trim().parse::<f64>().ok().filter(|value| value.is_finite());
        let values: Option<Vec<f64>> = text.split('\\').map(read).collect();
        values.ok_or_else(|| unusable(attribute, text, "not a number"))
    }

    /// The first decimal.
    pub fn decimal(&self, tag: Tag, attribute: &'static str) -> Result<Option<f64>, ImageError> {
        Ok(self.decimals(tag, attribute)?.first().copied())
    }

    /// A fixed count of decimals, or none.
    pub fn decimals_of<const N: usize>(
        &self,
        tag: Tag,
        attribute: &'static str,
    ) -> Result<Option<[f64; N]>, ImageError> {
        let values = self.decimals(tag, attribute)?;
        if values.is_empty() {
            return Ok(None);
        }
        let found = format!("{} values", values.len());
        let values = <[f64; N]>::try_from(values);
        values.map(Some).map_err(|_| ImageError::Unusable { attribute, value: found, reason: "not as many as wanted" })
    }

    /// A text that must be ASCII if it has any sign in it.
    fn written(&self, tag: Tag, attribute: &'static str) -> Result<Option<&str>, ImageError> {
        match (self.bytes(tag), self.text(tag)) {
            (Some(bytes), None) if bytes.iter().any(|byte| !matches!(byte, b' ' | 0)) => {
                Err(unusable(attribute, "what stands there", "not ASCII"))
            }
            (_, text) => Ok(text),
        }
    }
}

pub(super) fn unusable(attribute: &'static str, value: &str, reason: &'static str) -> ImageError {
    ImageError::Unusable { attribute, value: format!("\"{}\"", one_line(value)), reason }
}
