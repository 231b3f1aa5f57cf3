//! Every state of the two screens with pictures, filled with drawn shapes and invented words.

use crate::scenes::{Scene, model, over, place};
use brimline_ui::{
    AppWindow, CaseView, CorrectView, FieldLine, FindingLine, ImageMark, ImagePane, MeasureView, OperatedSide, Over,
    PinShows, PinStep, PinView, Place, ReAimView, TargetLine, TargetMark, TargetView,
};
use slint::{ComponentHandle, Image, Model, Rgb8Pixel, SharedPixelBuffer};

pub const SCENES: &[Scene] = &[
    Scene { name: "pin-no-pictures", set: |app| place(app, Place::Pin) },
    Scene { name: "pin-touching", set: touching },
    Scene { name: "pin-loupe", set: loupe },
    Scene { name: "pin-fields", set: fields },
    Scene { name: "pin-found", set: found },
    Scene { name: "pin-held-back", set: held_back },
    Scene { name: "pin-keep", set: keep },
    Scene { name: "pin-number", set: number },
    Scene { name: "pin-rehearsal", set: rehearsal },
    Scene { name: "correct", set: |app| place(app, Place::Correct) },
    Scene { name: "correct-touched", set: correct_touched },
    Scene { name: "correct-told", set: told },
    Scene { name: "correct-two-moves", set: two_moves },
    Scene { name: "correct-refused", set: refused },
    Scene { name: "re-aim", set: re_aim },
    Scene { name: "re-aim-told", set: re_aim_told },
    Scene { name: "target", set: target },
    Scene { name: "target-drawing", set: |app| place(app, Place::Target) },
    Scene { name: "target-rehearsal", set: target_rehearsal },
    Scene { name: "target-refused", set: target_refused },
    Scene { name: "measure", set: |app| place(app, Place::Measure) },
    Scene { name: "measure-touched", set: measured },
];

/// A round field with a darker body and a thin pin, as a console shows it; `size` a side.
fn drawn(size: u32) -> Image {
    let mut buffer = SharedPixelBuffer::<Rgb8Pixel>::new(size, size);
    let side = f64::from(size);
    for (at, pixel) in buffer.make_mut_slice().iter_mut().enumerate() {
        let at = u32::try_from(at).expect("small");
        let (x, y) = (f64::from(at % size) / side - 0.5, f64::from(at / size) / side - 0.5);
        let field = x.hypot(y) < 0.49;
        let body = (x / 0.3).hypot((y + 0.15) / 0.2) < 1.0;
        let wing = (x.abs() - 0.35).abs() < 0.12 && y.abs() < 0.35;
        let hole = (x.abs() - 0.13).hypot(y + 0.1) < 0.035;
        let pin = (y - 0.02 + 0.25 * (x + 0.3)).abs() < 0.008 && (-0.45..0.0).contains(&x);
        let grey = match (field, pin, hole, body, wing) {
            (false, ..) => 8,
            (_, true, ..) => 20,
            (_, _, true, ..) => 150,
            (_, _, _, true, _) => 70,
            (.., true) => 100,
            _ => 200,
        };
        *pixel = Rgb8Pixel { r: grey, g: grey, b: grey };
    }
    Image::from_rgb8(buffer)
}

fn mark(x: f32, y: f32, chosen: bool, small: bool) -> ImageMark {
    ImageMark { x, y, chosen, small }
}

pub fn pane(caption: &str) -> ImagePane {
    ImagePane { caption: caption.into(), picture: drawn(600), filled: true, ..ImagePane::default() }
}

fn panes(app: &AppWindow, first: ImagePane, second: ImagePane) {
    place(app, Place::Pin);
    app.global::<PinView>().set_panes(model(vec![first, second]));
}

fn touched() -> [ImagePane; 2] {
    let strokes = "M50 452 L500 345".into();
    let inlet = ImagePane {
        strokes,
        dashes: "M280 300 L300 290 M320 285 L340 280 M360 278 L380 278".into(),
        marks: model(vec![mark(0.5, 0.345, false, false), mark(0.05, 0.452, false, true)]),
        ..pane("Inlet, anterior cortex · 21° as planned · 10:46")
    };
    let outlet = ImagePane {
        strokes: "M80 445 L480 352".into(),
        active: true,
        wanted: "along the S1 foramen".into(),
        marks: model(vec![
            mark(0.48, 0.352, false, false),
            mark(0.08, 0.445, false, true),
            mark(0.6, 0.43, false, true),
            mark(0.66, 0.43, false, true),
        ]),
        ..pane("Outlet, working · 43° from the file · 10:47")
    };
    [inlet, outlet]
}

fn touching(app: &AppWindow) {
    let [inlet, outlet] = touched();
    panes(app, inlet, outlet);
}

fn loupe(app: &AppWindow) {
    let [inlet, outlet] = touched();
    let inlet = ImagePane {
        active: true,
        wanted: "tip of the pin".into(),
        marks: model(vec![mark(0.5, 0.345, true, false), mark(0.05, 0.452, false, true)]),
        magnified: true,
        finger_x: 0.5,
        finger_y: 0.345,
        loupe: drawn(200),
        ..inlet
    };
    panes(app, inlet, ImagePane { active: false, wanted: "".into(), ..outlet });
}

fn fields(app: &AppWindow) {
    touching(app);
    let view = app.global::<PinView>();
    view.set_shows(PinShows::Fields);
    let row = |id: &str, label: &str, value: &str, detail: &str, heed: bool| FieldLine {
        id: id.into(),
        label: label.into(),
        value: value.into(),
        detail: detail.into(),
        heed,
        locked: false,
    };
    let (inlet, outlet) = ("Inlet, anterior cortex", "Outlet, working");
    view.set_fields(model(vec![
        row("frame", "Between the views", "nothing moved, says the radiographer", "", false),
        row("picture-0", "Picture", "received 10:46", inlet, false),
        row("view-0", "View", inlet, "first picture", false),
        row("angle-0", "Angle", "21° mean of Ricci et al. 2010", inlet, true),
        row("turned-0", "The picture shows", "Head up, as the detector sees it", inlet, false),
        row("length-0", "Known length on it", "", "its file gives no size", true),
        row("picture-1", "Picture", "20260310T094600000Z-2.25.7.dcm", outlet, false),
        row("tool", "Largest tool", "12 mm", "", false),
    ]));
}

fn found(app: &AppWindow) {
    let [inlet, outlet] = touched();
    panes(app, inlet, ImagePane { active: false, wanted: "".into(), ..outlet });
    app.global::<PinView>().set_shows(PinShows::Finding);
}

fn held_back(app: &AppWindow) {
    found(app);
    let view = app.global::<PinView>();
    view.set_question(
        "Near-parallel views: Inlet, anterior cortex and Inlet, canal are 12° apart. Take one more across them.".into(),
    );
    let missing = |what: &str| FindingLine {
        label: format!("no {what}").into(),
        doubt: "held back, see below".into(),
        ..FindingLine::default()
    };
    view.set_numbers(model(["angle to the joint", "tip position", "margin to front cortex"].map(missing).to_vec()));
    view.set_steps(model(Vec::<PinStep>::new()));
    view.set_keep_detail("marks the record: results held back".into());
}

fn keep(app: &AppWindow) {
    found(app);
    over(app, Over::Message);
}

fn number(app: &AppWindow) {
    fields(app);
    over(app, Over::Number);
}

fn rehearsal(app: &AppWindow) {
    found(app);
    let case = app.global::<CaseView>();
    case.set_rehearsal(true);
    case.set_side(OperatedSide::Left);
    case.set_banner("Not saved: the disk is full. Touches count on; a crash now would lose 3.".into());
}

fn measured(app: &AppWindow) {
    place(app, Place::Measure);
    let marks = [(0.2, 0.7), (0.8, 0.7), (0.3, 0.5), (0.52, 0.42)].map(|(x, y)| mark(x, y, false, true));
    app.global::<MeasureView>().set_pane(ImagePane {
        active: true,
        strokes: "M200 700 L800 700 M300 500 L520 420".into(),
        marks: model(marks.to_vec()),
        ..pane("axial.dcm · opened 10:12")
    });
}

fn correct_touched(app: &AppWindow) {
    place(app, Place::Correct);
    let view = app.global::<CorrectView>();
    let touched = vec![mark(0.5, 0.7, false, false), mark(0.5, 0.45, true, false)];
    view.set_pane(ImagePane {
        active: true,
        wanted: "S2 body".into(),
        marks: model(touched),
        ..pane("Outlet, working · 42° as read · 10:12")
    });
}

fn told(app: &AppWindow) {
    correct_touched(app);
    app.global::<CorrectView>().set_told(true);
}

fn two_moves(app: &AppWindow) {
    told(app);
    let view = app.global::<CorrectView>();
    view.set_moves(model(
        ["Tilt: image receptor 4° toward the feet", "Orbit: image receptor 12° over, away from the stand"]
            .map(Into::into)
            .to_vec(),
    ));
    view.set_notice(
        "9.1 mm apart comes from standing off the centre: centring removes it, no move does.\nThe move is smaller \
         than its uncertainty: another touch may tell more than another shot."
            .into(),
    );
    let numbers: Vec<FindingLine> = view.get_numbers().iter().collect();
    view.set_numbers(model(numbers.into_iter().cycle().take(6).collect()));
}

fn refused(app: &AppWindow) {
    correct_touched(app);
    app.global::<CorrectView>().set_notice(
        "Offset beyond the lever: the landmarks stand 44.0 mm apart and are only 28.0 mm from each other; not this \
         pair, or misread"
            .into(),
    );
}

fn re_aim(app: &AppWindow) {
    place(app, Place::ReAim);
    let marks = [(0.62, 0.7), (0.4, 0.3), (0.1, 0.2)].map(|(x, y)| mark(x, y, false, true));
    app.global::<ReAimView>().set_pane(ImagePane {
        active: true,
        wanted: "plumb line, lower end".into(),
        strokes: "M620 700 L400 300".into(),
        marks: model(marks.to_vec()),
        ..pane("Lateral · 10:12")
    });
}

fn re_aim_told(app: &AppWindow) {
    re_aim(app);
    let view = app.global::<ReAimView>();
    view.set_pane(ImagePane { active: false, wanted: "".into(), ..view.get_pane() });
    view.set_told(true);
    view.set_notice("Void once patient or table moves: enter the move then, and re-aim anew.".into());
}

fn target(app: &AppWindow) {
    place(app, Place::Target);
    let view = app.global::<TargetView>();
    view.set_title("Outlet, working".into());
    view.set_angle("43°".into());
    view.set_angle_words("mean of Pekmezci 2014 · tilt: image receptor 43° toward the head".into());
    view.set_pane(ImagePane {
        marks: model(vec![mark(0.5, 0.45, false, false), mark(0.36, 0.4, false, false), mark(0.64, 0.4, false, false)]),
        ..pane("model, not this patient")
    });
    let spot = |number: &str, x: f32, y: f32| TargetMark { number: number.into(), x, y };
    view.set_marks(model(vec![spot("1", 0.5, 0.45), spot("2", 0.36, 0.4), spot("3", 0.9, 0.04)]));
    let line = |number: &str, text: &str| TargetLine { number: number.into(), text: text.into() };
    view.set_lines(model(vec![
        line("1", "upper border of the symphysis on the S2 body"),
        line("2", "foramina of S1, open"),
        line("3", "foramina of S2, open"),
    ]));
    view.set_notice("The model is turned by 9° so that it stands as planned".into());
    view.set_measured("From this patient: form of the left ala, slope of the S1 endplate".into());
    view.set_typical(
        "Typical, not measured: form of the right ala, coronal S1 corridor, left, axial S1 corridor, left, coronal S1 \
         corridor, right, axial S1 corridor, right, thickness of the trunk, lie of the symphysis"
            .into(),
    );
}

fn target_rehearsal(app: &AppWindow) {
    target(app);
    app.global::<CaseView>().set_rehearsal(true);
}

fn target_refused(app: &AppWindow) {
    place(app, Place::Target);
    let empty_text = "No picture of the model: the plan's angle of this view cannot be reached".into();
    app.global::<TargetView>().set_pane(ImagePane { empty_text, ..ImagePane::default() });
    app.global::<TargetView>().set_lines(model(vec![]));
}
