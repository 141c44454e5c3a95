//! Readings taken by hand: the arithmetic check vectors of the trade brief through the file, and every wrong file.

#![allow(clippy::unwrap_used)]

use assembly::Error;
use assembly::point::{Points, evaluate};
use std::path::PathBuf;

const DRY: &str = "arrangement = \"three-wheel\"\nwater_separation = \"none\"\nram = \"secondary-first\"\n\
                   [supply]\nhumidity_ratio = \"0 g/kg\"\n";

fn evaluated(readings: &str) -> Result<Points, Error> {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| -> PathBuf {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    };
    evaluate(&write("readings.csv", readings), &write("pack.toml", DRY), None)
}

fn value(points: &Points, point: usize, name: &str) -> f64 {
    let row = points.outcomes[point].rows.iter().find(|r| r.name == name);
    row.unwrap_or_else(|| panic!("no {name}")).reading.number().unwrap_or_else(|| panic!("{name} has no value"))
}

/// Plain arithmetic on invented stations; with s°(T) of dry air instead of a constant heat capacity ratio where said.
#[test]
fn check_vectors_of_the_trade() {
    let points = evaluated(
        "point,turbine1_in.temperature,turbine1_out.temperature,turbine1_in.pressure,turbine1_out.pressure,\
         pack_in.flow,pack_in.temperature,pack_in.pressure,acm.speed,compressor_in.temperature\n\
         ,K,K,kPa(a),kPa(a),kg/s,K,kPa(a),rpm,K\n\
         one,311.32,262.00,335.82,111.00,0.5,468.15,265.3,40000,382.39\n\
         thin,311.32,262.00,3.3582,1.1100,,,,,\n",
    )
    .unwrap();
    let close = |point, name, want: f64, within: f64| {
        let x = value(&points, point, name);
        assert!((x - want).abs() <= within, "{name}: {x}, not {want}");
    };
    // With s°(T) of the ideal gas, so in thin air; 0.584243 with a constant heat capacity ratio of 1.4. At pressure the
    // real gas takes 0.6 % more from its isentropic drop.
    close(1, "turbine1.dry_formula_efficiency", 0.584_058, 1e-4);
    close(0, "turbine1.dry_formula_efficiency", 0.584_058 * 0.994, 5e-4);
    close(0, "pack_in.corrected_flow", 0.243_407, 5e-7);
    close(0, "acm.corrected_speed", 34_722.9 * std::f64::consts::PI / 30.0, 0.005);
}

/// The same point in the units of a bench sheet, gauge pressures and a decimal comma: the same numbers.
#[test]
fn units_gauge_pressures_and_a_decimal_comma_change_nothing() {
    let si = evaluated(
        "turbine1_in.pressure,turbine1_out.pressure\n\
         kPa(a),kPa(a)\n\
         300.0,110.0\n",
    )
    .unwrap();
    let sheet = evaluated(
        "# from a sheet\n\
         point;turbine1_in.pressure;turbine1_out.pressure;ambient.pressure;turbine1_in.pressure.u\n\
         ;kPa(g);kPa(g);hPa;kPa\n\
         a;200,0;10,0;1000,0;0,35\n\
         b;200,0;;1000,0;\n",
    )
    .unwrap();
    let (a, b) = (value(&si, 0, "turbine1.pressure_ratio"), value(&sheet, 0, "turbine1.pressure_ratio"));
    assert!((a - b).abs() < 1e-12, "{a} {b}");
    let second = &sheet.outcomes[1].rows.iter().find(|r| r.name == "turbine1.pressure_ratio").unwrap();
    assert_eq!((second.reading.number(), second.remark.as_str()), (None, "no reading of turbine1_out.pressure"));
}

#[test]
fn the_uncertainty_stated_is_carried_and_what_is_not_stated_is_named() {
    let file = |u: &str| {
        format!(
            "turbine1_in.pressure,turbine1_in.pressure.u,turbine1_out.pressure,turbine1_out.pressure.u\n\
             kPa(a),%,kPa(a),kPa\n\
             300,0.1,100,{u}\n"
        )
    };
    let points = evaluated(&file("0.2")).unwrap();
    let row = &points.outcomes[0].rows[0];
    let by_hand = 3.0 * (0.001f64 * 0.001 + 0.002 * 0.002).sqrt();
    assert!((row.u.unwrap() - by_hand).abs() < 1e-9, "{:?}", row.u);
    assert_eq!(row.contributors[0].0, "turbine1_out.pressure");
    assert!((row.contributors[0].1 - 0.8).abs() < 1e-9);
    let points = evaluated(&file("")).unwrap();
    let row = &points.outcomes[0].rows[0];
    let remark = "no uncertainty: none is stated for turbine1_out.pressure";
    assert_eq!((row.u, row.remark.as_str()), (None, remark));
}

/// First order says nothing at a kink or an end of the formula: it is said.
#[test]
fn a_formula_that_ends_within_the_uncertainty_is_told() {
    let points = evaluated(
        "ambient.relative_humidity,ambient.relative_humidity.u,ambient.temperature,ambient.temperature.u,\
         ambient.pressure,ambient.pressure.u\n\
         %,%,degC,K,hPa,hPa\n\
         1,2,20,0.1,1013,0.1\n\
         50,2,20,0.1,1013,0.1\n",
    )
    .unwrap();
    let remark = |point: usize| points.outcomes[point].rows[0].remark.clone();
    assert!(
        remark(0).ends_with("ends within two standard uncertainties of ambient.relative_humidity"),
        "{}",
        remark(0)
    );
    assert_eq!(remark(1), "");
}

#[test]
fn every_wrong_file_says_what_and_where() {
    let cases = [
        ("nothing", ""),
        ("no units", "pack_in.temperature\n"),
        ("a name without a quantity", "pack_in.temp\ndegC\n20\n"),
        ("an unknown unit", "pack_in.temperature\nfurlong\n20\n"),
        ("a unit of something else", "pack_in.temperature\nkPa(a)\n20\n"),
        ("no unit", "pack_in.temperature,acm.speed\ndegC,\n20,1\n"),
        ("against what", "pack_in.pressure\nkPa\n300\n"),
        ("gauge without barometer", "pack_in.pressure\npsig\n30\n"),
        ("a line without barometer", "pack_in.pressure,ambient.pressure\npsig,hPa\n30,\n"),
        ("no number", "pack_in.temperature\ndegC\nwarm\n"),
        ("a decimal comma", "pack_in.temperature\ndegC\n\"20,5\"\n"),
        ("not finite", "pack_in.temperature\ndegC\nnan\n"),
        ("too many cells", "pack_in.temperature\ndegC\n20,5\n"),
        ("below zero", "pack_in.temperature\ndegC\n-300\n"),
        ("a name twice", "acm.speed,acm.speed\nrpm,rpm\n1,2\n"),
        ("an uncertainty of nothing", "acm.speed,acm.flow.u\nrpm,kg/s\n1,2\n"),
        ("a negative uncertainty", "acm.speed,acm.speed.u\nrpm,rpm\n1,-2\n"),
        ("a quotation without end", "acm.speed\nrpm\n\"1\n"),
    ];
    let told: Vec<String> = cases
        .iter()
        .map(|(name, text)| match evaluated(text) {
            Ok(_) => panic!("{name} is taken"),
            Err(Error::Config(problems)) => {
                let line = |p: &assembly::problem::Problem| {
                    let line = p.line();
                    line.split_once("readings.csv").map_or(line.clone(), |(_, rest)| format!("readings.csv{rest}"))
                };
                format!("# {name}\n{}\n", problems.0.iter().map(line).collect::<Vec<_>>().join("\n"))
            }
            Err(e) => panic!("{name}: {e}"),
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}

const LIMITS: &str = "entered_by = \"nobody (invented)\"\n\
    [[limit]]\nname = \"ratio\"\ncolumn = \"turbine1.pressure_ratio\"\nkind = \"below\"\nthreshold = \"2.9 1\"\n\
    document = \"DOC-0 (invented)\"\nrevision = \"-\"\nparagraph = \"1\"\n";

/// Verdicts with the uncertainty; what has no value, or none known, is not judged and never passes.
#[test]
fn limits_judge_a_point_with_its_uncertainty() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| -> PathBuf {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path
    };
    let readings = "point,turbine1_in.pressure,turbine1_in.pressure.u,turbine1_out.pressure,turbine1_out.pressure.u\n\
                    ,kPa(a),kPa,kPa(a),kPa\n\
                    clear,300,0.3,100,0.1\n\
                    near,291,0.3,100,0.3\n\
                    short,270,0.3,100,0.1\n\
                    unstated,300,,100,\n\
                    gone,300,0.3,,\n";
    let pack = write("pack.toml", DRY);
    let points = evaluate(&write("readings.csv", readings), &pack, Some(&write("limits.toml", LIMITS))).unwrap();
    let said: Vec<&str> = points.outcomes.iter().map(|o| o.verdicts[0].outcome).collect();
    assert_eq!(said, ["meets", "not decidable", "does not meet", "not judged", "not judged"]);
    let sentences: Vec<&str> = points.outcomes.iter().map(|o| o.verdicts[0].sentence.as_str()).collect();
    insta::assert_snapshot!("verdicts", sentences.join("\n"));
}
