//! The library's openings and the table of published ones say the same.

use crate::common::load;

use baywright::access::OPENINGS;

#[test]
fn a_named_opening_is_as_wide_in_a_scene_as_in_the_table() {
    for opening in &OPENINGS {
        let scene = load(&format!(
            "baywright: 1
include: [house:openings]
bodies: {{cap: {{shape: {{sphere: {{radius: 20}}}}}}}}
service: {{it: {{touch: {{body: cap}}, opening: {}}}}}
",
            opening.name
        ));
        let point = &scene.service[0];
        assert_eq!(point.opening.mm(), opening.round_mm, "{}", opening.name);
        let standard = opening.source.split(',').next().unwrap();
        assert!(point.opening_source.contains(&standard[..12]), "{}: {}", opening.name, point.opening_source);
    }
}
