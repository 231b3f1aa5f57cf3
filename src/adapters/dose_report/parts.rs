//! Smaller parts that several templates share: device, reference point, calibration, filters.

use super::codes;
use super::content::Node;
use super::quantities::Quantity;
use super::reading::Reading;
use crate::dose::{Calibration, Device, ReferencePoint};
use dicom_dictionary_std::tags;

impl Reading {
    /// The machine: TID 1004 first, the equipment module for what it leaves out.
    pub fn device(&self, root: Node<'_>) -> Device {
        let stated = |code: &str| root.children().find(|child| child.is(code));
        let text = |code: &str, tag| {
            stated(code).and_then(|node| node.meaning(&self.texts)).or_else(|| self.texts.text(root.0, tag))
        };
        Device {
            uid: stated("121012").and_then(Node::uid_value).map(str::to_owned),
            name: stated("121013").and_then(|node| node.meaning(&self.texts)),
            manufacturer: text("121014", tags::MANUFACTURER),
            model: text("121015", tags::MANUFACTURER_MODEL_NAME),
            serial: text("121016", tags::DEVICE_SERIAL_NUMBER),
            station: self.texts.text(root.0, tags::STATION_NAME),
        }
    }

    /// CID 10025, another code's meaning, or free text.
    pub fn reference_point(&self, node: Node<'_>) -> Option<ReferencePoint> {
        let known = node.code_value().and_then(codes::reference_point);
        known.or_else(|| node.meaning(&self.texts).map(ReferencePoint::Other))
    }

    /// What container 122505 holds.
    pub fn calibration(&mut self, container: Node<'_>, place: &str) -> Calibration {
        let place = format!("{place}, calibration");
        let mut calibration = Calibration { factor: None, uncertainty_percent: None, date: None };
        for child in container.children() {
            match child.dcm() {
                Some("122322") => {
                    let factor = self.number(child, Quantity::Factor, &place, "122322").map(|(value, _)| value);
                    self.put(&mut calibration.factor, factor, &place, "122322");
                }
                Some("113763") => {
                    let percent = self.number(child, Quantity::Percent, &place, "113763").map(|(value, _)| value);
                    self.put(&mut calibration.uncertainty_percent, percent, &place, "113763");
                }
                Some("113723") => {
                    let date = self.time(child, &place, "113723");
                    self.put(&mut calibration.date, date, &place, "113723");
                }
                _ => {}
            }
        }
        calibration
    }

    /// A filter in words: material and thickness, as far as they are stated.
    pub fn filter(&mut self, container: Node<'_>, place: &str) -> Option<String> {
        let place = format!("{place}, filter");
        let (mut material, mut least, mut most) = (None, None, None);
        for child in container.children() {
            match child.dcm() {
                Some("113757") => {
                    let known = child.code_value().and_then(codes::material).map(str::to_owned);
                    material = known.or_else(|| child.meaning(&self.texts));
                }
                Some("113758") => least = self.number(child, Quantity::Length, &place, "113758").map(|(mm, _)| mm),
                Some("113773") => most = self.number(child, Quantity::Length, &place, "113773").map(|(mm, _)| mm),
                _ => {}
            }
        }
        let thickness = match (least, most) {
            (Some(least), Some(most)) if (least - most).abs() > f64::EPSILON => format!(" {least} to {most} mm"),
            (Some(mm), _) | (None, Some(mm)) => format!(" {mm} mm"),
            (None, None) => String::new(),
        };
        material.map(|material| material + &thickness)
    }
}
