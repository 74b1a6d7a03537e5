use super::*;
use proptest::prelude::*;

#[test]
fn ids_have_no_blanks_nor_quotes_and_keep_their_end() {
    assert_eq!(id("node-0012"), "node-0012");
    assert_eq!(id("a \"b\";[c]ü"), "a__b___c__");
    let long = format!("{}-head-0012", "x".repeat(40));
    assert_eq!(id(&long).len(), ID_MOST);
    assert!(id(&long).ends_with("-head-0012"));
}

#[test]
fn a_title_stays_on_its_line() {
    let mut sheet = Sheet::default();
    sheet.title("parcel a\n[PIPES]; b");
    assert!(
        sheet
            .text(Friction::HazenWilliams, 0.5)
            .starts_with("[TITLE]\nparcel a [PIPES], b\n\n")
    );
    sheet.title(&"ü".repeat(60));
    assert_eq!(sheet.title.len(), 78);
}

#[test]
fn the_lines_are_those_of_the_format() {
    let mut sheet = Sheet::default();
    let at = Coord { x: -1.5, y: 2.0 };
    sheet.junction("n 1", 400.25, at, Some(312.456_78));
    sheet.pipe(PipeLine {
        id: "p",
        from: "n 1",
        to: "n2",
        length_m: 12.5,
        inside_mm: 26.6,
        roughness: 150.0,
        minor_k: 1.8,
        told_m: Some(12.25),
        check: true,
    });
    let ends = ["n2", "n3"];
    let valve = ValveLine::Reducer {
        pressure_m: 25.0,
        k: 3.0,
    };
    sheet.valve("v", ends, 50.0, valve);
    sheet.curve("c", &[(0.0, 50.0), (0.1, 40.0)]);
    let text = sheet.text(Friction::HazenWilliams, 0.55);
    for line in [
        "n_1 400.25 ;312.4568 kPa",
        "p n_1 n2 12.5 26.6 150 1.8 CV ;length 12.250000 m",
        "v n2 n3 50 PRV 25 3",
        "c 0.1 40",
        "n_1 -1.5 2",
        "EMITTER EXPONENT 0.55",
    ] {
        assert!(text.lines().any(|l| l == line), "{line} in\n{text}");
    }
}

proptest! {
    #[test]
    fn numbers_read_back_as_they_were(value in -1e9..1e9f64, tiny in -1e-9..1e-9f64) {
        for value in [value, tiny] {
            let text = number(value);
            prop_assert_eq!(text.parse::<f64>(), Ok(value));
            prop_assert!(!text.contains(['e', 'E']));
        }
    }
}
