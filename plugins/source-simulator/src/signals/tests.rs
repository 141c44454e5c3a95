use super::*;
use crate::pack::Pack;

fn running() -> State {
    let mut p = Pack::new(2);
    p.advance(20.0);
    p.sensed()
}

/// Every reading of an example file is there on the instrument's side, meaning the same, and the other way round.
fn same_as_file(module: &Module, text: &str) {
    let file: toml::Table = text.parse().unwrap();
    assert_eq!(file["framing"].as_str(), Some("modbus-rtu"));
    let readings = file["reading"].as_array().unwrap();
    assert_eq!(readings.len(), module.registers.len());
    for (r, reg) in readings.iter().zip(&module.registers) {
        let text = |key: &str| r.get(key).and_then(toml::Value::as_str);
        assert_eq!(text("name"), Some(reg.name.as_str()));
        assert_eq!(r["function"].as_integer(), Some(reg.function as i64));
        assert_eq!(r["address"].as_integer(), Some(i64::from(reg.address)));
        assert_eq!(text("type").unwrap(), format!("{:?}", reg.kind).to_lowercase());
        assert_eq!(text("word_order").unwrap_or("high-first"), "high-first");
        assert_eq!(r.get("scale").map_or(1.0, |x| x.as_float().unwrap()), reg.scale);
        assert_eq!(r.get("offset").map_or(0.0, |x| x.as_float().unwrap()), reg.offset);
        assert_eq!(text("unit"), reg.unit.as_deref());
        let nothing = r.get("nothing").map_or(vec![], |n| n.as_array().unwrap().clone());
        let nothing: Vec<_> = nothing.iter().map(|n| (n["raw"].as_integer(), n["reason"].as_str())).collect();
        let ours: Vec<_> = reg.nothing.iter().map(|(w, r)| (i64::try_from(*w).ok(), Some(r.word()))).collect();
        assert_eq!(nothing, ours);
    }
}

#[test]
fn modules_and_example_files_agree() {
    let thermocouples = include_str!("../../../../configs/instruments/demo-thermocouples.toml");
    same_as_file(&Module::thermocouples(), thermocouples);
    same_as_file(&Module::pressures(), include_str!("../../../../configs/instruments/demo-pressures.toml"));
}

#[test]
fn hygrometer_and_example_file_agree() {
    let file: toml::Table = include_str!("../../../../configs/instruments/demo-hygrometer.toml").parse().unwrap();
    let format = hygrometer_format().unwrap();
    let readings = file["reading"].as_array().unwrap();
    assert_eq!(readings.len(), format.fields().len());
    for (r, f) in readings.iter().zip(format.fields()) {
        assert_eq!(r["name"].as_str(), Some(f.name.as_str()));
        assert_eq!(r["position"].as_integer(), Some(i64::from(f.position)));
        assert_eq!(r["label"].as_str(), f.label.as_deref());
        assert_eq!(r["unit"].as_str(), f.unit.as_deref());
        assert_eq!(r["unit_text"].as_str(), f.unit_text.as_deref());
    }
    let line = hygrometer_line(&format, &running()).unwrap();
    assert!(line.len() < file["longest"].as_integer().unwrap() as usize);
    assert!(line.starts_with("RH=4") && line.contains("T=30") && line.ends_with("P=1006hPa"), "{line}");
}

#[test]
fn registers_hold_the_units_values() {
    let s = running();
    let words = Module::thermocouples().words(&s).unwrap();
    assert_eq!(words.len(), 8);
    assert!((f64::from(words[2] as i16) * 0.1 - (s.compressor_out_temperature - 273.15)).abs() <= 0.05 + 1e-9);
    assert!((words[4] as i16) < 0, "the turbine outlet is below 0 degC: signed");
    let words = Module::pressures().words(&s).unwrap();
    assert_eq!(words.len(), 14);
    let p1 = f32::from_bits(u32::from(words[0]) << 16 | u32::from(words[1]));
    assert!((f64::from(p1) - (s.pack_in_pressure - s.ambient_pressure) / 1e3).abs() < 1e-3);
    let p7 = f32::from_bits(u32::from(words[12]) << 16 | u32::from(words[13]));
    assert!((f64::from(p7) - s.bleed_pressure / 1e3).abs() < 1e-3);
}

/// By hand from the bytes, not by the decoder.
#[test]
fn frames_hold_the_units_values() {
    let database = CanDatabase::load(DATABASE, "demo-pack.dbc").unwrap();
    let s = running();
    let all = frames(&database, &s, 30).unwrap();
    let ids: Vec<u32> = all.iter().map(|f| f.id).collect();
    assert_eq!(ids, [0x120, 0x121, 0x130, 0x9ABC_0042]);
    let data: Vec<&[u8]> = all.iter().map(|f| f.data.as_slice()).collect();
    let rpm = f64::from(u16::from_le_bytes([data[0][0], data[0][1]]));
    assert!((rpm - s.speed * 60.0 / std::f64::consts::TAU).abs() <= 0.5);
    assert_eq!(data[0][7], 30);
    let flow = f32::from_be_bytes([data[1][0], data[1][1], data[1][2], data[1][3]]);
    assert!((f64::from(flow) - s.flow).abs() < 1e-6);
    assert_eq!(data[1][7], 15);
    let dp = f64::from(i16::from_be_bytes([data[1][4], data[1][5]])) * 0.1;
    assert!((dp - s.ram_pressure_difference).abs() <= 0.05 + 1e-9);
    let loop_ma = f64::from(u32::from_le_bytes([data[2][1], data[2][2], data[2][3], 0]) >> 4 & 0x3FFF) * 0.002;
    assert!((loop_ma - 20.0).abs() < 0.001);
    let turbine = f64::from(i16::from_be_bytes([data[3][1], data[3][2]])) * 0.03125;
    assert_eq!(data[3][0], 0x20, "page 0, phase run");
    assert!((turbine - (s.turbine_in_temperature - 273.15)).abs() <= 0.016);
    assert_eq!(frames(&database, &s, 31).unwrap().len(), 1);
    assert_eq!(frames(&database, &s, 32).unwrap().len(), 2);
    let page1 = frames(&database, &s, 40).unwrap().remove(3).data;
    let supply = f32::from_le_bytes([page1[1], page1[2], page1[3], page1[4]]);
    assert_eq!(page1[0] & 0x0F, 1);
    assert!((f64::from(supply) - (s.bleed_temperature - 273.15)).abs() < 1e-3);
    let page2 = frames(&database, &s, 50).unwrap().remove(3).data;
    assert_eq!((page2[0] & 0x0F, u32::from_le_bytes([page2[1], page2[2], page2[3], page2[4]])), (2, 200));
}
