//! Other people's programs see the same shapes, lengths, attenuation and files.

use crate::python;
use brimline::carm::{Point, Pose, PositionerAngles};
use brimline::fluoro::{Material, Raster, cast};
use brimline::pelvis::{BoneSkeleton, Field, Grid, Mesh, Skeleton, polygonise};
use brimline::units::{Degrees, Millimetres};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// What a script of this folder prints last, as JSON.
fn asked(script: &str, arguments: &[&str], input: &Value) -> Value {
    let mut command = Command::new(python());
    command.arg(root("tests/peers/fluoro").join(script)).args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // A script that fails early reads nothing; its exit says so.
    let _ = child.stdin.take().unwrap().write_all(input.to_string().as_bytes());
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{script} failed");
    let text = String::from_utf8(output.stdout).unwrap();
    serde_json::from_str(text.lines().last().unwrap()).unwrap()
}

fn json_of(mesh: &Mesh) -> Value {
    let vertices: Vec<[f64; 3]> = mesh.vertices.iter().map(|vertex| [vertex.x, vertex.y, vertex.z]).collect();
    json!({ "vertices": vertices, "triangles": mesh.triangles })
}

/// [R-PELVIS-3]
///
/// Source: the scanned specimen among the examples of `PyPI` gias2 0.7.14.
#[test]
#[ignore = "needs the peers"]
fn silhouettes_overlap_the_specimens_by_85_percent() {
    let bytes = std::fs::read(root("tests/vectors/pelvis/specimen.json")).unwrap();
    let specimen = Skeleton::read(&bytes).unwrap();
    let surface = |bone: &BoneSkeleton| {
        let balls = bone.balls(2.0);
        let mut field = Field::of(&balls, Grid::around(&balls, 2.0));
        let hollows = bone.hollows(1.0);
        if !hollows.is_empty() {
            field.carve(&Field::of(&hollows, field.grid), 0.0);
        }
        field.smooth();
        json_of(&polygonise(&field, 0.0))
    };
    let bones: BTreeMap<&str, Value> = specimen.bones.iter().map(|bone| (bone.name.as_str(), surface(bone))).collect();
    let overlap: BTreeMap<String, f64> = serde_json::from_value(asked("silhouettes.py", &[], &json!(bones))).unwrap();
    println!("{overlap:#.3?}");
    assert_eq!(overlap.len(), 12);
    for (view, share) in overlap {
        assert!(share >= 0.85, "{view}: {share}");
    }
}

/// Where the source and the detector stand, for a script.
pub fn case(pose: &Pose, raster: &Raster) -> Value {
    let of = |x: f64, y: f64, z: f64| json!([x, y, z]);
    json!({
        "source": of(pose.source.x, pose.source.y, pose.source.z),
        "detector_centre": of(pose.detector_centre.x, pose.detector_centre.y, pose.detector_centre.z),
        "across": of(pose.across.x, pose.across.y, pose.across.z),
        "down": of(pose.down.x, pose.down.y, pose.down.z),
        "pixels": raster.columns,
        "pitch": raster.pitch_mm,
    })
}

/// [R-FLUORO-1]
///
/// Source: trimesh 5.2.0 (rays) and `gVirtualXRay` 2.1.0 (L-buffer) on the specimen of `PyPI` gias2 0.7.14.
#[test]
#[ignore = "needs the peers"]
fn lengths_through_the_specimen_agree_with_rays_and_with_a_renderer() {
    let folder = tempfile::tempdir().unwrap();
    let mesh = asked("lengths.py", &["mesh"], &Value::Null);
    let vertices: Vec<[f64; 3]> = serde_json::from_value(mesh["vertices"].clone()).unwrap();
    let triangles = serde_json::from_value(mesh["triangles"].clone()).unwrap();
    let mesh = Mesh { vertices: vertices.into_iter().map(Point::from).collect(), triangles };
    let raster = Raster::square(256, 300.0);
    let (mut cases, mut found) = (Vec::new(), Vec::new());
    for (primary, secondary) in [(0.0, 25.0), (180.0, 43.0), (90.0, 2.0)] {
        let angles = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) };
        let (near, far) = (Millimetres(650.0), Millimetres(1000.0));
        let pose = Pose::looking(angles.beam(), Point::new(0.0, 10.0, -30.0), near, far, Degrees(0.0));
        let lengths = cast(&pose, &raster, &[&[&mesh]], 2).unwrap().remove(0);
        found.extend(lengths.iter().flat_map(|length| length.to_le_bytes()));
        cases.push(case(&pose, &raster));
    }
    let (cases_file, lengths_file) = (folder.path().join("cases.json"), folder.path().join("lengths.f32"));
    std::fs::write(&cases_file, json!(cases).to_string()).unwrap();
    std::fs::write(&lengths_file, found).unwrap();
    let files = [cases_file.to_str().unwrap(), lengths_file.to_str().unwrap()];
    let answers = asked("lengths.py", &["compare", files[0], files[1]], &Value::Null);
    println!("{answers:#}");
    for answer in answers.as_array().unwrap() {
        assert!(answer["rays"].as_u64().unwrap() > 500, "{answer}");
        for median in ["trimesh_median", "gvxr_median"] {
            assert!(answer[median].as_f64().unwrap() < 0.01, "{answer}");
        }
    }
}

/// [R-FLUORO-2]
///
/// Source: xraydb 4.5.8, elemental cross sections of Elam, weighted by mass fraction.
#[test]
#[ignore = "needs the peers"]
fn attenuation_agrees_with_xraydb_to_a_thousandth() {
    let names = [
        (Material::Air, "air"),
        (Material::Fat, "adipose"),
        (Material::Muscle, "muscle"),
        (Material::SoftTissue, "soft-tissue"),
        (Material::Water, "water"),
        (Material::SpongyBone, "spongiosa"),
        (Material::CorticalBone, "cortical-bone"),
        (Material::TitaniumAlloy, "titanium-alloy"),
        (Material::StainlessSteel, "stainless-steel"),
    ];
    let told: BTreeMap<&str, Vec<(f64, f64)>> = names
        .into_iter()
        .map(|(material, name)| {
            let energies = (60..=240).map(|half| f64::from(half) / 2.0);
            (name, energies.map(|kev| (kev, material.mass_attenuation(kev))).collect())
        })
        .collect();
    let table = root("src/fluoro/materials.json");
    let worst = asked("attenuation.py", &[table.to_str().unwrap()], &json!(told));
    println!("{worst:#}");
    let worst: BTreeMap<String, f64> = serde_json::from_value(worst).unwrap();
    assert_eq!(worst.len(), names.len());
    assert!(worst.values().all(|off| *off < 1e-3), "{worst:?}");
}

/// [R-FLUORO-5]
///
/// Source: pydicom 3.0.2 and its dictionary of the standard.
#[test]
#[ignore = "needs the peers"]
fn pydicom_reads_the_picture_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("picture.dcm");
    let mut command = Command::new(env!("CARGO_BIN_EXE_brimline"));
    command.args(["rehearse", "image", "--person", "5", "--primary", "13.6", "--secondary", "-42.2", "-o"]).arg(&path);
    assert!(command.status().unwrap().success());
    let read = asked("with_pydicom.py", &[path.to_str().unwrap()], &Value::Null);
    println!("{read:#}");
    for (member, wanted) in [
        ("class", json!("X-Ray Angiographic Image Storage")),
        ("syntax", json!("Explicit VR Little Endian")),
        ("type", json!(["DERIVED", "PRIMARY", "SINGLE PLANE"])),
        ("quality_control", json!("YES")),
        ("patient", json!("SYNTHETIC")),
        ("modality", json!("XA")),
        ("motion", json!("STATIC")),
        ("primary", json!(13.6)),
        ("secondary", json!(-42.2)),
        ("sid", json!(1000.0)),
        ("spacing", json!([0.585_937_5, 0.585_937_5])),
        ("shape", json!([512, 512])),
    ] {
        assert_eq!(read[member], wanted, "{member}");
    }
}
