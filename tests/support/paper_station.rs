//! A receiver and a reader of reports without DICOM: what arrives is a JSON file that says what it is.

#![allow(clippy::unwrap_used, dead_code, reason = "helpers of tests, where a panic is the answer; each uses some")]

use brimline::dose::{DoseReport, MachineTime, read_report};
use brimline::ports::image::{GreyImage, ImageError, ImageReader, Pixels};
use brimline::ports::{Arrival, ArrivalKind, Disk, ReceiveError, Receiver, Receiving, Reception, ReportReader, Unread};
use serde_json::{Value, json};
use std::io;
use std::path::Path;

/// Receives what a test lays into the folder.
pub struct Paper;

/// Runs nothing.
struct Still;

impl Receiving for Still {
    fn port(&self) -> u16 {
        11_112
    }

    fn stop(self: Box<Self>) {}
}

impl Receiver for Paper {
    fn start(&self, _reception: Reception) -> Result<Box<dyn Receiving>, ReceiveError> {
        Ok(Box::new(Still))
    }

    fn waiting(&self, disk: &dyn Disk, store: &Path) -> io::Result<Vec<Arrival>> {
        let folder = store.join("received");
        let names = match disk.list(&folder) {
            Err(fault) if fault.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            names => names?,
        };
        let names = names.into_iter().filter(|name| Path::new(name).extension().is_some_and(|ending| ending == "dcm"));
        Ok(names.map(|name| arrival(&disk.read(&folder.join(&name), 1 << 20).unwrap(), &name)).collect())
    }
}

impl ReportReader for Paper {
    fn read(&self, bytes: &[u8]) -> Result<DoseReport, Unread> {
        let paper: Value = serde_json::from_slice(bytes).map_err(|_| Unread::NotDicom)?;
        read_report(paper["report"].to_string().as_bytes()).map_err(|_| Unread::NotDicom)
    }

    fn media_index(&self, _bytes: &[u8]) -> Result<Vec<Vec<String>>, Unread> {
        Err(Unread::NotDicom)
    }
}

impl ImageReader for Paper {
    fn read(&self, bytes: &[u8]) -> Result<GreyImage, ImageError> {
        let paper: Value = serde_json::from_slice(bytes).map_err(|_| ImageError::UnknownKind)?;
        let mut image = GreyImage::plain(1, 1, Pixels::Eight(vec![0])).unwrap();
        image.geometry.primary_deg = paper["primary"].as_f64();
        image.geometry.secondary_deg = paper["secondary"].as_f64();
        Ok(image)
    }
}

fn arrival(bytes: &[u8], name: &str) -> Arrival {
    let paper: Value = serde_json::from_slice(bytes).unwrap();
    let made = paper["made"].as_str().map(|local| MachineTime { local: local.parse().unwrap(), offset_min: None });
    Arrival {
        uid: name.trim_end_matches(".dcm").to_owned(),
        kind: if paper["report"].is_object() { ArrivalKind::DoseReport } else { ArrivalKind::Image },
        patient_number: paper["number"].as_str().map(str::to_owned),
        made,
        received: "2026-03-10T09:00:00Z".parse().unwrap(),
        file: name.to_owned(),
    }
}

/// Lays an image into the folder of arrivals.
pub fn lay_image(store: &Path, uid: &str, number: &str, made: &str) {
    lay(store, uid, &json!({"number": number, "made": made, "primary": 13.6, "secondary": -42.2}));
}

/// Lays a report with one event into the folder of arrivals.
pub fn lay_report(store: &Path, uid: &str, number: &str, made: &str) {
    let report = json!({
        "brimline_dose_report": 1, "kind": "x-ray-radiation-dose", "uid": uid, "device": {},
        "planes": [{"plane": "single", "kerma_area_product": 1.25, "reference_air_kerma": 9.5, "fluoroscopy_time": 2.0}],
        "events": [{"started": {"local": made}, "plane": "single", "kerma_area_product": 1.25, "duration": 2.0}]
    });
    lay(store, uid, &json!({"number": number, "made": made, "report": report}));
}

fn lay(store: &Path, uid: &str, paper: &Value) {
    let folder = store.join("received");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join(format!("{uid}.dcm")), paper.to_string()).unwrap();
}
