//! A run that loads, in a few short files, for cases that change one thing in it.

pub(crate) const RUN: &str = r#"[run]
name = "rig"
pack = "pack.toml"
channels = ["map.toml"]
limits = ["limits.toml"]
grid = "100ms"
lateness = "250ms"
length = "30min"

[metrics]
address = "127.0.0.1:9773"

[[source]]
name = "line"
kind = "serial"
port = "/dev/ttyS0"
baud = 9600
parity = "even"

[[source.device]]
name = "box"
instrument = "box.toml"
address = 1
period = "200ms"
time_out = "100ms"
worst_answer = "1s"

[[source]]
name = "room"
kind = "serial"
port = "/dev/ttyS1"
baud = 9600
parity = "none"

[[source.device]]
name = "air"
instrument = "air.toml"

[[source]]
name = "bus"
kind = "can"
interface = "can0"
databases = ["bus.dbc"]
"#;

pub(crate) const MAP: &str = r#"[channel]
"pack_in.temperature" = { from = "line/box/t1", unit = "degC", range = [-60, 300] }
"pack_in.pressure" = { from = "line/box/p1", unit = "kPa", reference = "gauge", barometer = "ambient.pressure" }
"ambient.pressure" = { from = "room/air/p", unit = "hPa", reference = "absolute", stale = "3s" }
"acm.speed" = { from = "bus/Machine.Speed", unit = "rpm", conversion = { kind = "linear", scale = 1.0 } }
"valve.bypass.position" = { from = "bus/Machine.Loop", unit = "%", conversion = { kind = "current-loop", low = 0, high = 100 } }
"#;

pub(crate) const PACK: &str = r#"arrangement = "three-wheel"
water_separation = "high-pressure"
ram = "secondary-first"
packs = [""]
"#;

pub(crate) const LIMITS: &str = r#"[[limit]]
name = "hot"
column = "pack_in.temperature"
kind = "above"
threshold = "200 degC"
dead_band = "5 K"
on_delay = "3s"
off_delay = "3s"
basis = "snapshot"
document = "RIG-1"
revision = "A"
paragraph = "4.2"
"#;

pub(crate) const BOX: &str = r#"framing = "modbus-rtu"

[[reading]]
name = "t1"
function = 4
address = 0
type = "i16"
scale = 0.1
unit = "degC"
nothing = [{ raw = 0x7FFF, reason = "open" }]

[[reading]]
name = "p1"
function = 3
address = 10
type = "f32"
word_order = "high-first"
unit = "kPa"
"#;

pub(crate) const AIR: &str = r#"framing = "text-line"
longest = 200
separator = ","

[[reading]]
name = "h"
position = 1
label = "RH="
unit = "%"
nothing = [{ word = "--", reason = "not-available" }]

[[reading]]
name = "p"
position = 2
label = "P="
unit = "hPa"
unit_text = "hPa"
"#;

pub(crate) const BUS: &str = r#"VERSION ""
BU_: Controller
BO_ 288 Machine: 8 Controller
 SG_ Speed : 0|16@1+ (1,0) [0|65535] "rpm" Controller
 SG_ Loop : 16|16@1+ (0.001,0) [0|65.535] "mA" Controller
"#;

/// Every file by its name.
pub(crate) const FILES: [(&str, &str); 7] = [
    ("run.toml", RUN),
    ("map.toml", MAP),
    ("pack.toml", PACK),
    ("limits.toml", LIMITS),
    ("box.toml", BOX),
    ("air.toml", AIR),
    ("bus.dbc", BUS),
];
