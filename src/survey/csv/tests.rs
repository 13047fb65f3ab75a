#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use super::*;
use crate::space::LengthUnit;
use crate::survey::{Instrument, MarkSource, SurveyTable};

fn read(text: &str) -> Result<SurveyTable, SurveyErrors> {
    read_survey_csv(text, "stand.csv", LengthUnit::Millimetre, 1.5)
}

#[test]
fn points_are_read_in_the_units_of_a_shop() {
    let text = "\u{feff}# floor marks, bench 2\r\nName of nothing\r\n".replace("Name of nothing\r\n", "")
        + "Z, Mark ,x,Y,Note,SIGMA\r\n\r\n0,D1,14 3/16\",2-1/8 in,\"left, rear\",0\r\n76.2 mm, D2 ,7 ft 2 in,-1.5,,1/16 in\r\n";
    let table = read_survey_csv(&text, "stand.csv", LengthUnit::Inch, 1.5).unwrap();
    assert_eq!(table.marks.len(), 2);
    let d1 = table.mark("D1").unwrap();
    for (case, got, want) in [
        ("14 3/16 in", d1.position.x, 14.1875 * 25.4),
        ("2-1/8 in", d1.position.y, 2.125 * 25.4),
        ("by definition", d1.sigma_mm, 0.0),
        ("76.2 mm in a file of inches", table.marks[1].position.z, 76.2),
        ("7 ft 2 in", table.marks[1].position.x, 86.0 * 25.4),
        ("a bare number is inches", table.marks[1].position.y, -38.1),
        ("sigma too", table.marks[1].sigma_mm, 25.4 / 16.0),
    ] {
        assert!((got - want).abs() < 1e-12, "{case}: {got}, want {want}");
    }
    assert_eq!(d1.note.as_deref(), Some("left, rear"));
    assert_eq!((d1.line, d1.source), (4, MarkSource::Measured));
    assert_eq!(table.covariance.nrows(), 6);
    assert!(table.network.is_none());
}

#[test]
fn both_kinds_of_row_go_into_one_file() {
    let text = "mark,x,y,z,from,distance,sigma,side,note\n\
        A,0,0,0,,,0,,\nB,600,0,0,,,0,,\nC,0,400,0,,,0,,\n\
        P,,,,A,500,1,up,\nP,,,,B,460,1,,filler neck\nP,,,,C,420,1,,\n";
    let table = read(text).unwrap();
    let p = table.mark("P").unwrap();
    assert!((p.position.z - 233.478_050).abs() < 1e-6);
    assert_eq!((p.source, p.line, p.note.as_deref()), (MarkSource::Taped, 5, Some("filler neck")));
    assert!((p.sigma_mm.powi(2) - p.covariance.trace() / 3.0).abs() < 1e-12);
    assert_eq!(table.network.as_ref().unwrap().residuals.len(), 3);
    assert_eq!(table.covariance_of(["P"]).unwrap().nrows(), 3);
    assert_eq!(table.readings(["P", "Z"]).unwrap_err(), "Z");
}

#[test]
fn each_fault_has_its_place_and_its_cure() {
    let points = "mark,x,y,z,sigma\n";
    let tape = "mark,x,y,z,from,distance,sigma,side\nA,0,0,0,,,0,\nB,600,0,0,,,0,\nC,0,400,0,,,0,\n";
    let how = "mark,x,y,z,from,distance,how,hook,thickness\nA,0,0,0,,,,,\nB,600,0,0,,,,,\nC,0,400,0,,,,,\n";
    let cases: Vec<(&str, String, &str)> = vec![
        (
            "nothing",
            String::new(),
            "stand.csv:1:1: the file holds no header; write a header such as `mark,x,y,z,sigma` and a row for each reading",
        ),
        (
            "remarks only",
            "# all\n\n".into(),
            "stand.csv:1:1: the file holds no header; write a header such as `mark,x,y,z,sigma` and a row for each reading",
        ),
        (
            "no rows",
            points.into(),
            "stand.csv:1:1: the file holds no readings; write a header such as `mark,x,y,z,sigma` and a row for each reading",
        ),
        (
            "no header",
            "A1,0,0,0\n".into(),
            "stand.csv:1:1: `A1`: the first line must name the columns: `mark,x,y,z` for points, `mark,from,distance` for tape distances, all six for both",
        ),
        (
            "semicolons",
            "mark;x;y;z\nA;1,5;0;0\n".into(),
            "stand.csv:1:5: `mark;x;y;z`: the cells are separated by semicolons; separate them by commas, and write decimals with a point: `A1,12.5,0,300`",
        ),
        (
            "tabs",
            "mark\tx\ty\tz\n".into(),
            "stand.csv:1:5: `mark\tx\ty\tz`: the cells are separated by tabs; separate them by commas, and write decimals with a point: `A1,12.5,0,300`",
        ),
        (
            "misspelt column",
            "mark,x,y,z,sgima\nA,0,0,0,1\n".into(),
            "stand.csv:1:12: `sgima`: `sgima` is no column of a survey (is `sigma` meant?); known are mark, x, y, z, from, distance, sigma, side, how, hook, thickness, instrument, reading and note",
        ),
        (
            "column twice",
            "mark,x,y,z,x\nA,0,0,0,1\n".into(),
            "stand.csv:1:12: `x`: column `x` stands twice, first at column 6; keep one",
        ),
        (
            "column missing",
            "mark,x,y\nA,0,0\n".into(),
            "stand.csv:1:1: `mark`: the header lacks `z`; points need mark, x, y and z, tape distances mark, from and distance",
        ),
        (
            "decimal commas",
            format!("{points}A,1,5,0,3,0,2\n"),
            "stand.csv:2:1: `A,1,5,0,3,0,2`: the row has 7 cells, the header names 5; write decimals with a point, not a comma, or put the cell in double quotes",
        ),
        (
            "a cell short",
            format!("{points}A,1,2,3\n"),
            "stand.csv:2:1: `A,1,2,3`: the row has 4 cells, the header names 5; fill it up with commas: an empty cell keeps its comma",
        ),
        (
            "a quoted decimal comma",
            format!("{points}A,\"12,5\",0,0,1\n"),
            "stand.csv:2:3: `12,5`: `x` has a decimal comma; write a point: `12.5`",
        ),
        (
            "open quote",
            format!("{points}A,\"12,0,0,1\n"),
            "stand.csv:2:3: `\"12,0,0,1`: the double quote is not closed on its line; close it, and write a quote within quotes twice",
        ),
        (
            "after a quote",
            format!("{points}A,\"12\" mm,0,0,1\n"),
            "stand.csv:2:8: `mm,0,0,1`: text stands after the closing quote; put the whole cell in quotes, and write a quote within quotes twice",
        ),
        ("no name", format!("{points},1,0,0,1\n"), "stand.csv:2:1: `mark` is empty; write the mark's name"),
        (
            "no coordinate",
            format!("{points}A,1,,0,1\n"),
            "stand.csv:2:5: `y` is empty; write a length: `76.2`, `14 3/16 in`",
        ),
        (
            "not a number",
            format!("{points}A,1,NaN,0,1\n"),
            "stand.csv:2:5: `NaN`: `y` is not a number that can be measured; measure again or take the row out",
        ),
        (
            "infinite",
            format!("{points}A,1,-inf,0,1\n"),
            "stand.csv:2:5: `-inf`: `y` is not a number that can be measured; measure again or take the row out",
        ),
        (
            "a list",
            format!("{points}A,\"[1, 2]\",0,0,1\n"),
            "stand.csv:2:3: `[1, 2]`: a list stands where `x` is due; write one value a cell",
        ),
        (
            "an unknown unit",
            format!("{points}A,3 cubits,0,0,1\n"),
            "stand.csv:2:3: `3 cubits`: `x` is not a length: `cubits` in `3 cubits` is not a unit of length; use mm, cm, m, in or ft",
        ),
        (
            "trailing junk",
            format!("{points}A,3 mm approx,0,0,1\n"),
            "stand.csv:2:3: `3 mm approx`: `x` is not a length: `approx` in `3 mm approx` is not a number; write `76.2 mm`, `3 in`, `2-1/8\"`, `14 3/16 in` or `7 ft 2 in`",
        ),
        (
            "a kilometre off",
            format!("{points}A,3e6,0,0,1\n"),
            "stand.csv:2:3: `3e6`: `x` is 3000 m, beyond anything a survey of a vehicle holds; check the unit and the decimal point",
        ),
        (
            "negative sigma",
            format!("{points}A,3,0,0,-1\n"),
            "stand.csv:2:9: `-1`: sigma must be zero (right by definition) or above; it says how far a reading is to be trusted",
        ),
        (
            "a mark twice",
            format!("{points}A,1,0,0,1\nB,2,0,0,1\nA,3,0,0,1\n"),
            "stand.csv:4:1: `A`: mark `A` stands twice, first on line 2; give the second its own name, or keep the better one",
        ),
        (
            "an unknown mark",
            format!("{tape}P,,,,AA,500,1,up\nP,,,,B,460,1,\nP,,,,C,420,1,\n"),
            "stand.csv:5:6: `AA`: `AA` is no mark of this file (is `A` meant?); give it coordinates or distances of its own",
        ),
        (
            "from itself",
            format!("{tape}P,,,,P,500,1,up\n"),
            "stand.csv:5:6: `P`: the distance runs from `P` to itself; name the other mark",
        ),
        (
            "no distance",
            format!("{tape}P,,,,A,,1,up\n"),
            "stand.csv:5:8: `distance` is empty; write a length: `76.2`, `14 3/16 in`",
        ),
        (
            "zero distance",
            format!("{tape}P,,,,A,0,1,up\n"),
            "stand.csv:5:8: `0`: a distance must be above zero; measure again or take the row out",
        ),
        (
            "zero tape sigma",
            format!("{tape}P,,,,A,500,0,up\n"),
            "stand.csv:5:12: `0`: sigma must be above zero for a tape distance; it says how far a reading is to be trusted",
        ),
        (
            "a side that is none",
            format!("{tape}P,,,,A,500,1,uo\n"),
            "stand.csv:5:14: `uo`: `uo` is no side (is `up` meant?); write forward, rearward, left, right, up or down, in the survey's own axes (x rearward, y right, z up)",
        ),
        (
            "both kinds in a row",
            format!("{tape}P,1,2,3,A,500,1,up\n"),
            "stand.csv:5:1: `P`: the row gives coordinates and a distance; write two rows, one of each kind",
        ),
        (
            "neither kind",
            format!("{tape}P,,,,,,1,\n"),
            "stand.csv:5:1: `P`: the row gives neither coordinates nor a distance; fill in x, y and z, or from and distance",
        ),
        (
            "the side of a point",
            format!("{tape}P,1,2,3,,,1,up\n"),
            "stand.csv:5:13: `up`: a side tells two mirror places of a taped mark apart, and a point has none; leave `side` empty",
        ),
        (
            "a network without an answer",
            format!("{tape}P,,,,A,500,1,\nP,,,,B,460,1,\n"),
            "stand.csv:5:1: `P`: mark `P` needs one more distance, best from a mark off the line of A and B; the distance C-P would do",
        ),
        (
            "a way of measuring that is none",
            format!("{how}P,,,,A,500,squre,,\n"),
            "stand.csv:5:12: `squre`: `squre` is no way of measuring; write straight, near, far, square, edge, plumb, level, diameter, wrap, or a direction such as up for a height (is `square` meant?)",
        ),
        (
            "a square to two marks",
            format!("{how}P,,,,A+B,500,square,,\n"),
            "stand.csv:5:6: `A+B`: `square` was measured from three marks of the panel, under `from`: `A+B+C`; 2 given",
        ),
        (
            "a panel with a mark that is none",
            format!("{how}P,,,,A+B+X,500,square,,\n"),
            "stand.csv:5:6: `A+B+X`: `X` is no mark of this file (is `A` meant?); give it coordinates or distances of its own",
        ),
        (
            "plumb with a length",
            format!("{how}P,,,,A,500,plumb,,\n"),
            "stand.csv:5:8: `500`: `plumb` is read as no difference, so it has no distance; leave the cell empty",
        ),
        (
            "a thickness of a straight tape",
            format!("{how}P,,,,A,500,straight,,0.3\n"),
            "stand.csv:5:22: `0.3`: `thickness` belongs to `wrap` only; leave it empty",
        ),
        (
            "a diameter from a mark",
            format!("{how}P,,,,A,60,diameter,,\n"),
            "stand.csv:5:6: `A`: `diameter` was measured from no mark; leave `from` empty; 1 given",
        ),
        (
            "a zero byte",
            "mark,x\0,y,z\n".into(),
            "stand.csv:1:1: the file holds a zero byte, so it is no text; export the survey as CSV",
        ),
    ];
    for (case, text, want) in cases {
        let errors = read(&text).map(|_| ()).expect_err(case);
        assert_eq!(errors.to_string(), want, "{case}");
    }
}

#[test]
fn all_faults_come_at_once_in_order() {
    let text = "mark,x,y,z\nA,1,2,three\n,1,2,3\nB,,NaN,0\nB,1,1\n";
    let errors = read(text).unwrap_err();
    let places: Vec<(usize, usize)> = errors.errors.iter().map(|e| (e.line, e.column)).collect();
    assert_eq!(places, [(2, 7), (3, 1), (4, 3), (4, 4), (5, 1)]);
    assert_eq!(errors.to_string().lines().count(), 5);
}

#[test]
fn other_encodings_are_refused() {
    let bytes =
        |b: &[u8]| read_survey_bytes(b, "stand.csv", LengthUnit::Millimetre, 1.5).unwrap_err().to_string();
    let utf16: Vec<u8> = "mark,x,y,z\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let with_mark: Vec<u8> = [0xff, 0xfe].into_iter().chain(utf16.clone()).collect();
    for found in [utf16, with_mark] {
        assert_eq!(
            bytes(&found),
            "stand.csv:1:1: the file is UTF-16 text; save it as UTF-8 (\"CSV UTF-8\" in most spreadsheets)"
        );
    }
    assert_eq!(
        bytes(b"mark,x,y,z\nL\xf6ffel,0,0,0\n"),
        "stand.csv:1:1: byte 12 of the file is not UTF-8 text; save it as UTF-8 (\"CSV UTF-8\" in most spreadsheets)"
    );
    let fine = read_survey_bytes(
        "\u{feff}mark,x,y,z\nL\u{f6}ffel,1,2,3,,\n".as_bytes(),
        "stand.csv",
        LengthUnit::Millimetre,
        1.5,
    );
    assert_eq!(
        fine.unwrap().marks[0].name,
        "L\u{f6}ffel",
        "trailing empty cells are what spreadsheets leave"
    );
}

#[test]
fn sigma_for_the_whole_survey_must_be_above_zero() {
    for sigma in [0.0, -1.0, f64::NAN] {
        let error =
            read_survey_csv("mark,x,y,z\nA,0,0,0\n", "stand.csv", LengthUnit::Millimetre, sigma).unwrap_err();
        assert!(error.to_string().contains("above zero for the whole survey"), "{error}");
    }
}

#[test]
fn readings_of_every_kind_stand_in_one_file() {
    // A mark 300 up and 200 from the panel x = 0, plumb over B's y by an offset; a pipe wrapped at it.
    let text = "\
mark,x,y,z,from,distance,how,hook,thickness,sigma,side
A,0,0,0,,,,,,0,
B,0,600,0,,,,,,0,
C,0,0,500,,,,,,0,
P,,,,,300,up,,,1,
P,,,,A+B+C,198,Square,2,,1,rearward
P,,,,B,-120,right,,,1,
P,,,,,189.4380490,wrap,,0.3,0.5,
T,,,,P,,plumb,,,1,
T,,,,P,40,up,,,1,
E,,,,A+C,125,edge,,,1,
";
    let table = read(text).unwrap();
    let at = |name: &str| table.mark(name).unwrap().position;
    for (name, want) in [("P", [200.0, 480.0, 300.0]), ("T", [200.0, 480.0, 340.0]), ("E", [0.0, 0.0, 125.0])]
    {
        assert!((at(name) - nalgebra::Point3::from(want)).norm() < 1e-6, "{name}: {}", at(name));
    }
    let rounds = &table.network.as_ref().unwrap().rounds;
    // 189.438049 / pi - 0.3 = 60.0
    assert!((rounds[0].diameter_mm - 60.0).abs() < 1e-5, "{rounds:?}");
}

#[test]
fn an_instrument_adds_its_hook_its_thickness_and_its_part_a_metre() {
    let ours = |name: &str, hook_mm, thickness_mm| Instrument {
        name: name.to_owned(),
        sigma_mm: 3.0,
        per_metre_mm: 4.0,
        hook_mm,
        thickness_mm,
    };
    let known = [ours("hooked", 2.0, 0.5), ours("cut-off", -100.0, 0.3)];
    let defaults = ReadingDefaults {
        unit: LengthUnit::Millimetre,
        sigma_mm: None,
        instrument: Some(&known[0]),
        known: &known,
    };
    let text = "mark,x,y,z,from,distance,how,hook,thickness,sigma,instrument\n\
        P,,,,,1000,rearward,,,,\nP,,,,,0,right,,,,\nP,,,,,500,up,7,,,\nP,,,,,314.1592653589793,wrap,,,,\n\
        Q,,,,,1100,rearward,,,,cut-off\nQ,,,,,30,right,,,6,cut-off\nQ,,,,,0,up,0,,,\n\
        Q,,,,,314.1592653589793,wrap,,0.2,,\nR,,,,,0,rearward,0,,,\nR,,,,,0,right,0,,,\nR,,,,,0,up,0,,,\nR,,,,,60,diameter,,,,\n";
    let table = read_survey_with(text.as_bytes(), "stand.csv", &defaults).unwrap_or_else(|e| panic!("{e}"));
    let (p, q, r) = (table.mark("P").unwrap(), table.mark("Q").unwrap(), table.mark("R").unwrap());
    let round = |name: &str| {
        let network = table.network.as_ref().unwrap();
        network.rounds.iter().find(|round| round.name == name).unwrap().clone()
    };
    let turn = std::f64::consts::PI;
    for (case, got, want) in [
        ("the survey's instrument adds its hook: 1000 + 2", p.position.x, 1002.0),
        ("to a length of nothing too", p.position.y, 2.0),
        ("a hook of the row goes before it: 500 + 7", p.position.z, 507.0),
        ("3 mm and 4 mm a metre at 1 m: 3^2 + 4^2", p.covariance[(0, 0)], 25.0),
        ("at nothing the fixed part alone", p.covariance[(1, 1)], 9.0),
        ("at half a metre 3^2 + 2^2", p.covariance[(2, 2)], 13.0),
        ("wrapped: pi (d + 0.5) = 100 pi; no hook once round", round("P").diameter_mm, 99.5),
        (
            "its sigma over pi: root(9 + (4 x 0.314159)^2) / pi",
            round("P").sigma_mm,
            (9.0 + (0.4 * turn).powi(2)).sqrt() / turn,
        ),
        ("the row's instrument goes before the survey's: 1100 - 100", q.position.x, 1000.0),
        ("by what was read: 3^2 + 4.4^2", q.covariance[(0, 0)], 28.36),
        ("the row's own sigma goes before all: 30 - 100", q.position.y, -70.0),
        ("6^2", q.covariance[(1, 1)], 36.0),
        ("a hook of 0 in the row is one", q.position.z, 0.0),
        ("a thickness of the row goes before it", round("Q").diameter_mm, 99.8),
        ("no hook across a thing", round("R").diameter_mm, 60.0),
        ("3^2 + (4 x 0.06)^2", round("R").sigma_mm.powi(2), 9.0576),
        ("nothing read, nothing added", r.position.coords.norm(), 0.0),
    ] {
        assert!((got - want).abs() < 1e-9, "{case}: {got}, want {want}");
    }
}
