//! A checker that remembers gives what one that knows nothing gives, whatever changed in between.

use crate::common::{Dice, load};

use baywright::check::{CheckOptions, Checker, KeptPairs};
use baywright::scene::Scene;
use baywright::space::Length;

fn bay() -> Scene {
    let mut bodies = String::new();
    for at in 0..14 {
        let (x, y) = (60 * (at % 5), 55 * (at / 5));
        let carrier = ["chassis", "engine", "hood"][at % 3];
        let shape = [
            "sphere: {radius: 24}",
            "box: [44, 30, 38]",
            "tube: {points: [[-20, 0, 0], [20, 0, 0]], diameter: 30}",
        ][at % 3];
        let role = ["hot", "hose", "panel"][at / 2 % 3];
        bodies += &format!(
            "  b{at}: {{shape: {{{shape}}}, at: [{x}, {y}, 0], carried_by: {carrier}, role: {role}, kept: {}, sigma: 0.4, material: {}}}\n",
            at % 4 == 0,
            "stainless-304"
        );
    }
    load(&format!(
        "baywright: 1
carriers:
  engine: {{rock: {{through: [0, 60, -100], along: rearward, forward: 3 deg, reverse: 2 deg}}}}
  hood: {{hinge: {{through: [400, 0, 0], along: right, from: 0 deg, to: 4 deg}}}}
roles: {{hot: test, hose: test, panel: test}}
bodies:
{bodies}joined:
  - {{bodies: [b1, b2], by: bolts}}
rules:
  - {{between: [hot, hose], least: 18, because: test}}
  - {{between: [hot, any], least: 9, because: test}}
  - {{between: [b3, any], least: 4, because: test}}
"
    ))
}

#[test]
fn what_is_remembered_is_what_a_fresh_check_finds() {
    let mut dice = Dice::new(91);
    let mut scene = bay();
    let mut remembering = Checker::new();
    let mut verdicts = std::collections::HashSet::new();
    for round in 0..70 {
        let at = ((dice.roll() + 1.0) * 7.0) as usize;
        match round % 7 {
            0 | 1 => scene.bodies[at].world_from_body.translation.vector += dice.vector(16.0),
            2 => scene.bodies[at].cover = Length::from_mm(1.0 + dice.roll()),
            3 => scene.rules[round / 7 % 3].least = Length::from_mm(9.0 + 6.0 * dice.roll()),
            4 => scene.bodies[at].placement.surface_mm = 1.0 + dice.roll(),
            // Hot metal grows, in a tube; of the others the figure is not used.
            5 => scene.bodies[at].hot_c = Some(500.0 + 200.0 * dice.roll()),
            _ => {
                let gone = scene.bodies.remove(at);
                // Back at another place of the list: answers go by name.
                scene.bodies.insert(0, gone);
            }
        }
        let kept_pairs = if round % 5 == 3 { KeptPairs::AsFound } else { KeptPairs::Examined };
        let options = CheckOptions { kept_pairs, ..CheckOptions::default() };
        let again = remembering.check(&scene, None, &options);
        let fresh = Checker::new().check(&scene, None, &options);
        assert_eq!(again.pairs, fresh.pairs, "round {round}");
        assert_eq!(format!("{:#?}", again.list), format!("{:#?}", fresh.list), "round {round}");
        verdicts.extend(fresh.list.iter().map(|finding| format!("{:?}", finding.verdict)));
    }
    assert!(verdicts.len() >= 3, "the walk met {verdicts:?} only");
}
