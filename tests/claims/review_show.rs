//! tmp
use super::review_world::{Site, word};
use super::synthetic::{Model, Planted, records};
#[test]
fn show() {
    let site = Site::new();
    let planted = Some(Planted { step: "joint", from: 60, factor: 2.0 });
    let live = site.write("live", &records(&Model { gain: 0.8, rate: 0.08, planted, ..Model::steady(5, 110) }));
    let reh = site.write(
        "reh",
        &records(&Model { gain: 1.5, rate: 0.1, kind: brimline::case::CaseKind::Rehearsal, ..Model::steady(6, 30) }),
    );
    println!("{:?}", site.says(&["review", "import", word(&live), word(&reh)]));
    for name in brimline::review::ChartName::ALL {
        let png = format!("/tmp/rv/{name}.png");
        println!("{}", site.says(&["review", "chart", name.word(), "-o", &png]).out);
        println!("{}", site.says(&["review", "chart", name.word()]).out.lines().take(8).collect::<Vec<_>>().join("\n"));
    }
    println!("{}", site.says(&["review", "summary", "--by", "implants"]).out);
    println!("{}", site.says(&["review", "summary", "--csv", "--by", "size", "-o", "/tmp/rv/s.csv"]).err);
    println!("{}", site.says(&["review", "summary", "--csv", "--cases", "-o", "/tmp/rv/c.csv"]).err);
    println!("{}", site.says(&["review", "summary", "--parquet", "--cases", "-o", "/tmp/rv/c.parquet"]).err);
    println!("{}", site.says(&["review", "summary", "--parquet", "--by", "size", "-o", "/tmp/rv/s.parquet"]).err);
    println!("{}", site.says(&["review", "summary", "--dictionary"]).out);
    println!("{:?}", site.says(&["review", "report", "2031-04", "-o", "/tmp/rv/r.pdf"]));
}
