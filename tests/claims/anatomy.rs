//! Anatomy: each side apart, two readers apart, and nothing named before it was counted.

use brimline::anatomy::{
    self, Anatomy, Angle, Asymmetry, Corridor, JointAt, JointLevel, Length, Level, Question, Reader, Room, Score,
    ScoreReading, Seen, SideAnatomy, Sign, Transitional,
};
use brimline::units::Side;

fn reader(name: &str, signs: &[(Sign, Seen)]) -> Reader {
    Reader { reader: name.to_owned(), signs: signs.iter().copied().collect() }
}

fn side(side: Side, coronal: f64, axial: f64) -> SideAnatomy {
    let angle = |deg| Some(Angle::typed(deg));
    SideAnatomy { s1_coronal: angle(coronal), s1_axial: angle(axial), foramina: Some(4), ..SideAnatomy::empty(side) }
}

fn both(left: SideAnatomy, right: SideAnatomy) -> Anatomy {
    Anatomy { transitional: Some(Transitional::None), sides: vec![left, right], ..Anatomy::default() }
}

/// [R-ANATOMY-1]
#[test]
fn two_readers_are_listed_where_they_disagree_and_nothing_is_decided() {
    let readers = [
        reader("first", &[(Sign::ResidualDisc, Seen::Present), (Sign::AcuteAlarSlope, Seen::Present)]),
        reader("second", &[(Sign::ResidualDisc, Seen::Absent), (Sign::AcuteAlarSlope, Seen::Present)]),
    ];
    let compared = anatomy::compare(&readers);
    assert_eq!(compared.present, [Sign::AcuteAlarSlope]);
    assert_eq!(compared.disagreed, [(Sign::ResidualDisc, Seen::Present, Seen::Absent)]);
    assert_eq!(compared.not_looked_for.len(), 5);
    let words = anatomy::text(&both(
        SideAnatomy { readers: readers.to_vec(), ..SideAnatomy::empty(Side::Left) },
        SideAnatomy { readers: readers[..1].to_vec(), ..SideAnatomy::empty(Side::Right) },
    ));
    assert!(words.contains("kappa 0.26 to 0.59") && words.contains("the readers disagree: residual disc"), "{words}");
    assert!(!words.contains("dysmorphic sacrum") && words.contains("no sign decides anything"), "{words}");
}

/// [R-ANATOMY-2]
///
/// Source: the published mean of dysmorphic sacra, 30° and 15° (Gardner et al. 2010), scores 60, below the line of 70.
#[test]
fn the_published_mean_of_dysmorphic_sacra_lies_below_the_line_of_70() {
    let angle = |deg| Angle { plus_minus_deg: 1.0, ..Angle::typed(deg) };
    let score = Score::of(angle(30.0), angle(15.0));
    assert_eq!(score.reading(), ScoreReading::Below);
    assert!(score.reading().words().contains("dysmorphic sacra average 60"));
    assert!(ScoreReading::Above.words().contains("no measure of dysmorphism"));
}

/// Source: 10 mm as in Lee et al., J Orthop Res 2015.
#[test]
fn a_corridor_is_narrow_only_beyond_its_uncertainty() {
    let room = |mm| Corridor { level: Level::S1, width: Length { mm, ..Length::typed(0.0) } }.room();
    assert_eq!(
        [room(8.9), room(9.0), room(11.0), room(11.1)],
        [Room::Narrow, Room::NotTold, Room::NotTold, Room::Wider]
    );
}

/// [R-ANATOMY-4]
#[test]
fn nothing_is_called_s1_before_the_foramina_are_counted_and_a_transitional_vertebra_is_excluded() {
    assert_eq!(anatomy::questions(&both(side(Side::Left, 21.0, 4.0), side(Side::Right, 21.0, 4.0))), []);
    let open = Anatomy { sides: vec![SideAnatomy::empty(Side::Left)], ..Anatomy::default() };
    assert_eq!(anatomy::questions(&open), [Question::Count { side: Side::Left }, Question::AskTransitional]);
    let mut five = both(side(Side::Left, 21.0, 4.0), side(Side::Right, 21.0, 4.0));
    five.sides[1].foramina = Some(5);
    five.transitional = Some(Transitional::NotExcluded);
    let asked = anatomy::questions(&five);
    assert_eq!(
        asked,
        [
            Question::UnusualCount { side: Side::Right, foramina: 5 },
            Question::CountsDiffer { left: 4, right: 5 },
            Question::TransitionalNotExcluded,
        ]
    );
}

/// [R-ANATOMY-1]
///
/// Source: 29.8 % of dysmorphic pelves are asymmetric (J Orthop Trauma 2025).
#[test]
fn one_side_never_stands_for_the_other() {
    let alone = Anatomy { sides: vec![side(Side::Left, 30.0, 15.0)], ..Anatomy::default() };
    assert_eq!(anatomy::asymmetry(&alone), [Asymmetry::NotMeasured { side: Side::Right }]);
    // Typed angles have ±2°: a score has ±4.5, a difference of scores ±6.3.
    let differ = |axial| anatomy::asymmetry(&both(side(Side::Left, 30.0, 15.0), side(Side::Right, 30.0, axial))).len();
    assert_eq!([differ(15.0), differ(18.0), differ(18.2)], [0, 0, 1]);
    let mut signs = both(SideAnatomy::empty(Side::Left), SideAnatomy::empty(Side::Right));
    signs.sides[0].readers = vec![reader("first", &[(Sign::ResidualDisc, Seen::Present)])];
    signs.sides[1].readers = vec![reader("first", &[(Sign::ResidualDisc, Seen::Absent)])];
    assert_eq!(anatomy::asymmetry(&signs), [Asymmetry::Signs { count: 1 }]);
}

/// [R-PIN-9] Source of the twist: the reference specimen, about 30° axial cranially and 13° caudally.
#[test]
fn a_joint_is_known_by_height_and_its_heights_rise() {
    let at = |level, height: f64, axial: f64| JointAt {
        level,
        height_mm: Some(height),
        axial_deg: Some(axial),
        coronal_deg: Some(10.0),
    };
    let joint = vec![
        at(JointLevel::Lower, -45.0, 13.0),
        at(JointLevel::Middle, -25.0, 21.0),
        JointAt { coronal_deg: None, ..at(JointLevel::Upper, -60.0, 30.0) },
    ];
    let known = SideAnatomy { joint, ..SideAnatomy::empty(Side::Left) };
    let mut whole = both(known, SideAnatomy::empty(Side::Right));
    whole.check().expect("an incomplete height says nothing, and is no fault");
    let said = anatomy::text(&whole);
    assert!(said.contains("Joint, lower: -45 mm from the S1 endplate, 13° axial, 10° coronal"), "{said}");
    assert!(said.contains("Joint, upper: incomplete"), "{said}");
    whole.sides[0].joint[2].coronal_deg = Some(10.0);
    let fault = whole.check().expect_err("the upper one lies lowest").to_string();
    assert_eq!(fault, "sides[0].joint: heights rise from the lower to the upper one");
    whole.sides[0].joint[2] = at(JointLevel::Lower, 5.0, 30.0);
    assert_eq!(whole.check().expect_err("twice").to_string(), "sides[0].joint[2].level: stands twice");
}
