//! Parsers of DICOM: dose reports, directories of media, and what comes over the network.
#![allow(dead_code, reason = "each target uses one of them")]

use super::parsers::one_line;
use brimline::adapters::dataset::{self, Encoding};
use brimline::adapters::dose_report;
use brimline::adapters::images::ImageFiles;
use brimline::adapters::receiver::{Assembly, PDU_MAX, fragments, negotiate};
use brimline::dose;
use brimline::ports::image::{ImageReader, Region};
use brimline::settings::ReceiveSettings;
use dicom_ul::pdu::{Pdu, read_pdu};

/// A file: as a report, as a directory, and as a bare data set in every encoding. What is read as a report is one in
/// its JSON form too.
pub fn dose_report(bytes: &[u8]) {
    let read = dose_report::read(bytes);
    if let Ok(report) = &read {
        let json = serde_json::to_vec(report).expect("a report is JSON");
        assert_eq!(dose::read_report(&json).as_ref(), Ok(report));
    }
    one_line(read);
    one_line(dose_report::media_index(bytes));
    for encoding in [Encoding::ExplicitLittle, Encoding::ImplicitLittle, Encoding::ExplicitBig] {
        one_line(dataset::walk(bytes, encoding, |_| true, |_| false));
    }
}

/// A picture: read, and if it is one, drawn whole, in part and beyond its edges.
pub fn image(bytes: &[u8]) {
    let read = ImageFiles.read(bytes);
    if let Ok(image) = &read {
        let window = image.default_window();
        assert_eq!(image.drawn(image.whole(), 24, 24, window).len(), 24 * 24);
        let beyond = Region { left: -3.0, top: 1.5, width: 1e6, height: 0.25 };
        assert_eq!(image.drawn(beyond, 7, 5, window).len(), 35);
        let spacing = image.geometry.spacing_in_patient();
        assert!(spacing.is_none_or(|spacing| spacing.across_mm > 0.0 && spacing.down_mm > 0.0));
    }
    one_line(read);
}

/// A stream of PDUs: requests are judged, fragments put together.
pub fn pdu(bytes: &[u8]) {
    let settings = ReceiveSettings { peers: vec!["SENDER".parse().expect("a peer")], ..ReceiveSettings::default() };
    let mut assembly = Assembly::new(1 << 16);
    let mut rest = bytes;
    while rest.len() >= 6 {
        let length = u32::from_be_bytes([rest[2], rest[3], rest[4], rest[5]]);
        let Some(one) = rest.get(..6 + length as usize).filter(|_| length <= PDU_MAX) else { return };
        rest = &rest[one.len()..];
        match read_pdu(one, PDU_MAX, true) {
            Ok(Some(Pdu::AssociationRQ(request))) => {
                let local = core::net::IpAddr::from([127, 0, 0, 1]);
                if let Ok(agreed) = negotiate(&request, &settings, local) {
                    assert!(agreed.contexts.len() <= agreed.answer.presentation_contexts.len());
                }
            }
            Ok(Some(Pdu::PData { .. })) => {
                let read = fragments(&one[6..]);
                let Ok(read) = read else { return one_line(read) };
                for fragment in &read {
                    let fed = assembly.feed(fragment, &|_, _, begin| begin.push(0));
                    if fed.is_err() {
                        return one_line(fed);
                    }
                }
            }
            Ok(_) => {}
            Err(_) => return,
        }
    }
}
