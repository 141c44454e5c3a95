//! The cases: what is wrong, in which file, what is put in place of what.

use crate::base::AIR;

pub(crate) struct Case {
    pub(crate) what: &'static str,
    pub(crate) file: &'static str,
    pub(crate) from: &'static str,
    pub(crate) to: &'static str,
}

const fn case(what: &'static str, file: &'static str, from: &'static str, to: &'static str) -> Case {
    Case { what, file, from, to }
}

const fn run(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "run.toml", from, to)
}

const fn map(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "map.toml", from, to)
}

/// With this in the line of a channel of the bus.
const fn speed(what: &'static str, to: &'static str) -> Case {
    case(what, "map.toml", "conversion = { kind = \"linear\", scale = 1.0 }", to)
}

const fn pack(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "pack.toml", from, to)
}

const fn limit(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "limits.toml", from, to)
}

const fn modbus(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "box.toml", from, to)
}

const fn line(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "air.toml", from, to)
}

const fn bus(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "bus.dbc", from, to)
}

pub(crate) const RUN: &[Case] = &[
    run("no name", "name = \"rig\"\n", ""),
    run("a name no folder can have", "name = \"rig\"", "name = \"rig/1\""),
    run("a key misspelt", "grid =", "gird ="),
    run("a key of another table", "length = \"30min\"", "address = \"127.0.0.1:1\""),
    run("a table misspelt", "[metrics]", "[metric]"),
    run("a key twice", "length = \"30min\"", "grid = \"1s\""),
    run("no channels", "channels = [\"map.toml\"]\n", ""),
    run("a text where a list belongs", "channels = [\"map.toml\"]", "channels = \"map.toml\""),
    run("a number where a text belongs", "grid = \"100ms\"", "grid = 100"),
    run("no quotation marks", "grid = \"100ms\"", "grid = 100ms"),
    run("a quotation mark not closed", "name = \"rig\"", "name = \"rig"),
    run("a duration without a unit", "lateness = \"250ms\"", "lateness = \"250\""),
    run("a negative duration", "lateness = \"250ms\"", "lateness = \"-1s\""),
    run("no lateness at all", "lateness = \"250ms\"", "lateness = \"0s\""),
    run("a lateness of thousands of snapshots", "lateness = \"250ms\"", "lateness = \"20min\""),
    run("a grid finer than 1 ms", "grid = \"100ms\"", "grid = \"100us\""),
    run("a grid coarser than the longest pause", "grid = \"100ms\"", "grid = \"2min\""),
    run("a map that is not there", "map.toml", "maps.toml"),
    run("a limit file that is not there", "limits.toml", "limit.toml"),
    run("a pack file that is not there", "pack.toml", "packs.toml"),
    run("metrics for everybody", "127.0.0.1:9773", "0.0.0.0:9773"),
    run("metrics without a port", "127.0.0.1:9773", "127.0.0.1"),
    run("metrics by name", "127.0.0.1:9773", "localhost:9773"),
    run("no table of the run", "[run]", "[runs]"),
];

pub(crate) const SOURCES: &[Case] = &[
    run("a kind that is not known", "kind = \"can\"", "kind = \"canbus\""),
    run("no kind", "kind = \"can\"\n", ""),
    run("two sources of one name", "name = \"room\"", "name = \"line\""),
    run("a name with a slash", "name = \"bus\"", "name = \"bus/1\""),
    run("an option that is not known", "baud = 9600\nparity = \"even\"", "bauds = 9600\nparity = \"even\""),
    run("an option of the wrong type", "baud = 9600\nparity = \"even\"", "baud = \"9600\"\nparity = \"even\""),
    run("an option with a word that is not known", "parity = \"even\"", "parity = \"mark\""),
    run("two sources on one port", "port = \"/dev/ttyS1\"", "port = \"/dev/ttyS0\""),
    run("no port", "port = \"/dev/ttyS0\"\n", ""),
    run("no interface", "interface = \"can0\"\n", ""),
    run("an instrument file that is not there", "box.toml", "boxes.toml"),
    run("a Modbus device without address", "address = 1\n", ""),
    run("a Modbus address out of range", "address = 1\n", "address = 248\n"),
    run("an address that is no byte", "address = 1\n", "address = 300\n"),
    run("a duration that is none", "period = \"200ms\"", "period = \"fast\""),
    run("a time-out of nothing", "time_out = \"100ms\"", "time_out = \"0s\""),
    run("a device key misspelt", "worst_answer", "worst_case"),
    run("no database", "databases = [\"bus.dbc\"]\n", ""),
    run("one database twice", "[\"bus.dbc\"]", "[\"bus.dbc\", \"bus.dbc\"]"),
    run("a database without a file", "[\"bus.dbc\"]", "[{ j1939 = true }]"),
    run("a database by a number", "[\"bus.dbc\"]", "[5]"),
    run("senders that are none", "[\"bus.dbc\"]", "[{ file = \"bus.dbc\", senders = \"all\" }]"),
    run("a filter that is none", "interface = \"can0\"", "interface = \"can0\"\nkeep_only = [\"12\"]"),
    run("a database that is not there", "bus.dbc", "bus2.dbc"),
    run("a database on a serial line", "baud = 9600\n", "baud = 9600\ndatabases = [\"bus.dbc\"]\n"),
    run("a path on a live source", "interface = \"can0\"", "interface = \"can0\"\npath = \"a.log\""),
    run(
        "a device on a bus",
        "databases = [\"bus.dbc\"]\n",
        "databases = [\"bus.dbc\"]\n[[source.device]]\nname = \"x\"\ninstrument = \"air.toml\"\n",
    ),
    run("a source without devices", "[[source.device]]\nname = \"air\"\ninstrument = \"air.toml\"\n", ""),
    run(
        "live and captured in one run",
        "[[source]]\nname = \"bus\"\nkind = \"can\"\ninterface = \"can0\"\n",
        "[[source]]\nname = \"bus\"\nkind = \"candump\"\npath = \"a.log\"\n",
    ),
];

pub(crate) const MAP: &[Case] = &[
    map("a source that is not there", "line/box/t1", "lines/box/t1"),
    map("a reading that is not there", "line/box/t1", "line/box/t9"),
    map("a device that is not there", "line/box/t1", "line/bax/t1"),
    map(
        "raw values of an instrument",
        "unit = \"degC\", range",
        "unit = \"degC\", nothing = [{ raw = 1, reason = \"open\" }], range",
    ),
    speed("a raw value that the signal cannot have", "nothing = [{ raw = 70000, reason = \"open\" }]"),
    speed("a word without a value table", "nothing = [{ word = \"off\", reason = \"not-available\" }]"),
    speed("a raw value and a word", "nothing = [{ raw = 1, word = \"off\", reason = \"not-available\" }]"),
    speed("raw values the wrong way round", "nothing = [{ raw = 5, to = 3, reason = \"not-available\" }]"),
    speed(
        "a raw value with two reasons",
        "nothing = [{ raw = 1, to = 3, reason = \"open\" }, { raw = 2, reason = \"short\" }]",
    ),
    speed("a raw value without a reason that exists", "nothing = [{ raw = 1, reason = \"tired\" }]"),
    map("a signal that is not there", "Machine.Speed", "Machine.Sped"),
    map("nothing after the source", "line/box/t1", "line"),
    map("a unit that is not known", "unit = \"degC\"", "unit = \"centigrade\""),
    map("a unit in other letters", "unit = \"degC\"", "unit = \"DegC\""),
    map("a unit of something else", "unit = \"degC\"", "unit = \"kPa\""),
    map("another unit than the instrument's", "unit = \"hPa\"", "unit = \"kPa\""),
    map("a pressure against nothing", ", reference = \"absolute\"", ""),
    map("a reference that is none", "reference = \"gauge\"", "reference = \"relative\""),
    map("a gauge pressure without barometer", ", barometer = \"ambient.pressure\"", ""),
    map("a barometer that is no channel", "barometer = \"ambient.pressure\"", "barometer = \"baro\""),
    map("a barometer that is a temperature", "barometer = \"ambient.pressure\"", "barometer = \"pack_in.temperature\""),
    map("a barometer of its own", "barometer = \"ambient.pressure\"", "barometer = \"pack_in.pressure\""),
    map("a declared barometer in the wrong unit", "\"ambient.pressure\" }", "\"101.3 degC\" }"),
    map("a declared barometer that no weather has", "\"ambient.pressure\" }", "\"1013 kPa\" }"),
    map(
        "a barometer for an absolute pressure",
        "reference = \"absolute\"",
        "reference = \"absolute\", barometer = \"1 bar\"",
    ),
    map("a range upside down", "[-60, 300]", "[300, -60]"),
    map("a range of three", "[-60, 300]", "[-60, 0, 300]"),
    map("stale at once", "stale = \"3s\"", "stale = \"0s\""),
    map("a key that is not known", "stale = \"3s\"", "stale_after = \"3s\""),
    map("no unit", ", unit = \"hPa\"", ""),
    map("two channels of one name", "\"acm.speed\"", "\"ambient.pressure\""),
    map("a name that tables cannot carry", "\"acm.speed\"", "\"ACM speed\""),
    map("a name that says something else", "\"acm.speed\"", "\"acm.temperature\""),
    map("a quantity that is not known", "unit = \"rpm\"", "unit = \"rpm\", quantity = \"revs\""),
    map("a conversion that is not known", "\"linear\"", "\"lineal\""),
    map("a conversion without its numbers", ", scale = 1.0", ""),
    map("a conversion to nothing", "scale = 1.0", "scale = 0.0"),
    map("a number of another conversion", "scale = 1.0", "scale = 1.0, low = 4.0"),
    map("a loop without its ends", "low = 0, high = 100", "low = 0"),
    map("a loop that ends where it begins", "low = 0, high = 100", "low = 5, high = 5"),
    map(
        "points that do not pair",
        "kind = \"linear\", scale = 1.0",
        "kind = \"table\", raw = [1, 2, 3], value = [1, 2]",
    ),
    map(
        "points that go back",
        "kind = \"linear\", scale = 1.0",
        "kind = \"table\", raw = [1, 3, 2], value = [1, 2, 3]",
    ),
    map(
        "two points that are one",
        "kind = \"linear\", scale = 1.0",
        "kind = \"two-point\", raw = [1, 1], value = [0, 100]",
    ),
];

pub(crate) const PACK: &[Case] = &[
    pack("an arrangement that is not known", "three-wheel", "3-wheel"),
    pack("a separation that is not known", "high-pressure", "high pressure"),
    pack("a ram side that is not known", "secondary-first", "series"),
    pack("a pack prefix that is none", "packs = [\"\"]", "packs = [\"port\"]"),
    pack("no arrangement", "arrangement = \"three-wheel\"\n", ""),
    pack("a key that is not known", "packs =", "pack ="),
];

const HOT: &str = "column = \"pack_in.temperature\"\nkind = \"above\"\nthreshold = \"200 degC\"\ndead_band = \"5 K\"";

/// The kind of the limit and its number.
const KIND: &str = "kind = \"above\"\nthreshold = \"200 degC\"";
/// And its dead band.
const WITH_BAND: &str = "kind = \"above\"\nthreshold = \"200 degC\"\ndead_band = \"5 K\"";

pub(crate) const LIMITS: &[Case] = &[
    limit("a column that is not there", "pack_in.temperature", "pack_out.temperature"),
    limit("a kind that is not known", "\"above\"", "\"over\""),
    limit("a threshold without a unit", "200 degC", "200"),
    limit("a threshold that is no number", "200 degC", "hot degC"),
    limit("a threshold of something else", "200 degC", "200 kPa"),
    limit("a threshold that is not finite", "200 degC", "inf degC"),
    limit(
        "a pressure measured against nobody knows what",
        HOT,
        "column = \"pack_in.pressure\"\nkind = \"above\"\nthreshold = \"250 kPa\"\ndead_band = \"5 kPa\"",
    ),
    limit(
        "a gauge limit by its unit",
        HOT,
        "column = \"pack_in.pressure\"\nkind = \"above\"\nthreshold = \"36 psig\"\ndead_band = \"1 psi\"",
    ),
    limit(
        "a gauge limit by its reference",
        HOT,
        "column = \"pack_in.pressure\"\nkind = \"above\"\nreference = \"gauge\"\n\
         threshold = \"250 kPa\"\ndead_band = \"5 kPa\"",
    ),
    limit(
        "a reference that is not known",
        HOT,
        "column = \"pack_in.pressure\"\nkind = \"above\"\nreference = \"vacuum\"\n\
         threshold = \"250 kPa\"\ndead_band = \"5 kPa\"",
    ),
    limit("a reference of a temperature", "threshold =", "reference = \"absolute\"\nthreshold ="),
    limit("a dead band of something else", "5 K", "5 kPa"),
    limit("a dead band below zero", "5 K", "-5 K"),
    limit("a delay below zero", "on_delay = \"3s\"", "on_delay = \"-3s\""),
    limit("a basis that is not known", "\"snapshot\"", "\"samples\""),
    limit("a basis that a derived quantity has not", "column = \"pack_in.temperature\"", "column = \"corrected_flow\""),
    limit("no document", "document = \"RIG-1\"\n", ""),
    limit("an empty document", "\"RIG-1\"", "\"\""),
    limit("no revision", "revision = \"A\"\n", ""),
    limit("an empty name", "name = \"hot\"", "name = \"\""),
    limit("a key that is not known", "dead_band", "deadband"),
    limit("one limit as a table", "[[limit]]", "[limit]"),
    limit("a word without quotation marks", "\"above\"", "above"),
    limit("a band without its upper end", KIND, "kind = \"band\"\nlow = \"0 degC\""),
    limit("a band upside down", KIND, "kind = \"band\"\nlow = \"10 degC\"\nhigh = \"0 degC\""),
    limit("a band without room for its dead band", KIND, "kind = \"band\"\nlow = \"0 degC\"\nhigh = \"8 degC\""),
    limit("a key of another kind", KIND, "kind = \"above\"\nthreshold = \"200 degC\"\nwindow = \"3s\""),
    limit("a rate without a window", KIND, "kind = \"rate\"\nper_second = \"2 K\""),
    limit("a rate of nothing looked back over", KIND, "kind = \"rate\"\nper_second = \"2 K\"\nwindow = \"0s\""),
    limit("a rate in another unit", KIND, "kind = \"rate\"\nper_second = \"2 kPa\"\nwindow = \"3s\""),
    limit("a side that is none", KIND, "kind = \"rate\"\nper_second = \"2 K\"\nwindow = \"3s\"\nside = \"up\""),
    limit(
        "a curve over a column that is not there",
        KIND,
        "kind = \"curve\"\nover = \"ambient.temperature\"\npoints = [[\"0 degC\", \"90 degC\"], [\"40 degC\", \"120 degC\"]]",
    ),
    limit("a curve of one point", KIND, "kind = \"curve\"\nover = \"acm.speed\"\npoints = [[\"0 rpm\", \"90 degC\"]]"),
    limit(
        "a curve that goes back",
        KIND,
        "kind = \"curve\"\nover = \"acm.speed\"\npoints = [[\"9 rpm\", \"90 degC\"], [\"0 rpm\", \"95 degC\"]]",
    ),
    limit(
        "a point of three",
        KIND,
        "kind = \"curve\"\nover = \"acm.speed\"\npoints = [[\"9 rpm\", \"90 degC\", \"1\"]]",
    ),
    limit(
        "a point in the units of the other column",
        KIND,
        "kind = \"curve\"\nover = \"acm.speed\"\npoints = [[\"90 degC\", \"9 rpm\"], [\"95 degC\", \"10 rpm\"]]",
    ),
    limit(
        "a curve over a pressure measured against nobody knows what",
        KIND,
        "kind = \"curve\"\nover = \"ambient.pressure\"\npoints = [[\"90 kPa\", \"90 degC\"], [\"100 kPa\", \"95 degC\"]]",
    ),
    limit(
        "a curve with both sides",
        KIND,
        "kind = \"curve\"\nover = \"acm.speed\"\nside = \"either\"\npoints = [[\"0 rpm\", \"90 degC\"], [\"9 rpm\", \"95 degC\"]]",
    ),
    limit(
        "a disagreement of two quantities",
        KIND,
        "kind = \"disagreement\"\nwith = \"acm.speed\"\nthreshold = \"2 K\"",
    ),
    limit("a disagreement of nothing given", KIND, "kind = \"disagreement\"\nwith = \"pack_in.temperature\""),
    limit(
        "a share of a temperature",
        WITH_BAND,
        "kind = \"disagreement\"
with = \"pack_in.temperature\"
share = \"3 %\"",
    ),
    limit(
        "a stuck value whose driver need not move",
        WITH_BAND,
        "kind = \"stuck\"\nchange = \"1 K\"\nwindow = \"3s\"\ndriver = \"acm.speed\"",
    ),
    limit(
        "a driver's change without a driver",
        WITH_BAND,
        "kind = \"stuck\"\nchange = \"1 K\"\nwindow = \"3s\"\ndriver_change = \"9 rpm\"",
    ),
    limit("a count of nothing", KIND, "kind = \"count\"\nthreshold = \"200 degC\"\ncount = 0\nwindow = \"3s\""),
    limit(
        "a count that is no number",
        KIND,
        "kind = \"count\"\nthreshold = \"200 degC\"\ncount = \"three\"\nwindow = \"3s\"",
    ),
    limit("a deviation without ends", KIND, "kind = \"deviation\"\nexpected = \"pack_in.temperature\""),
    limit(
        "two columns on every sample",
        "kind = \"above\"\nthreshold = \"200 degC\"\ndead_band = \"5 K\"\non_delay = \"3s\"\noff_delay = \"3s\"\nbasis = \"snapshot\"",
        "kind = \"disagreement\"\nwith = \"pack_in.temperature\"\nthreshold = \"2 K\"\nbasis = \"sample\"",
    ),
    limit("an empty condition", "on_delay = \"3s\"", "enable = {}"),
    limit(
        "a condition of both sorts",
        "on_delay = \"3s\"",
        "enable = { all = [{ column = \"acm.speed\", above = \"9 rpm\" }], any = [{ column = \"acm.speed\", above = \"9 rpm\" }] }",
    ),
    limit(
        "a condition on a column that is not there",
        "on_delay = \"3s\"",
        "enable = { all = [{ column = \"acm.sped\", above = \"9 rpm\" }] }",
    ),
    limit("a condition without a threshold", "on_delay = \"3s\"", "enable = { all = [{ column = \"acm.speed\" }] }"),
    limit(
        "a condition in another unit",
        "on_delay = \"3s\"",
        "enable = { any = [{ column = \"acm.speed\", below = \"9 K\" }] }",
    ),
    limit(
        "a condition on a pressure measured against nobody knows what",
        "on_delay = \"3s\"",
        "enable = { all = [{ column = \"ambient.pressure\", above = \"90 kPa\" }] }",
    ),
    limit(
        "a condition with a dead band below zero",
        "on_delay = \"3s\"",
        "enable = { all = [{ column = \"acm.speed\", above = \"9 rpm\", dead_band = \"-1 rpm\" }] }",
    ),
    limit("a key of a condition misspelt", "on_delay = \"3s\"", "enable = { every = [] }"),
    limit("a hold-off after nothing", "on_delay = \"3s\"", "hold_off = \"3s\""),
    limit("n of m that cannot be", "on_delay = \"3s\"", "n_of_m = [5, 3]"),
    limit("n of m of three", "on_delay = \"3s\"", "n_of_m = [1, 2, 3]"),
    limit("n of m and a delay", "on_delay = \"3s\"", "on_delay = \"3s\"\nn_of_m = [3, 5]"),
    limit("a group that is not there", "on_delay = \"3s\"", "group = \"trip\""),
    limit(
        "two groups of one name",
        "[[limit]]",
        "[[group]]\nname = \"trip\"\nwindow = \"1s\"\n[[group]]\nname = \"trip\"\nwindow = \"1s\"\n[[limit]]",
    ),
    limit("a group without a window", "[[limit]]", "[[group]]\nname = \"trip\"\n[[limit]]"),
    limit("a cause that is not there", "on_delay = \"3s\"", "suppressed_by = [\"hut\"]"),
    limit("its own cause", "on_delay = \"3s\"", "suppressed_by = [\"hot\"]"),
    limit("a latch that is a word", "on_delay = \"3s\"", "latching = \"yes\""),
    limit("a rule that is not known", "on_delay = \"3s\"", "rule = \"guard\""),
    limit("a guard band without a guarded rule", "on_delay = \"3s\"", "guard_band = \"95 %\""),
    limit("a guard band that is no probability", "on_delay = \"3s\"", "rule = \"guarded\"\nguard_band = \"20 %\""),
    limit("a guard band of something else", "on_delay = \"3s\"", "rule = \"guarded\"\nguard_band = \"2 kPa\""),
    limit("a day that is none", "document", "entered_on = \"2026-02-30\"\ndocument"),
    limit("a name of two lines", "name = \"hot\"", "name = \"hot\\nter\""),
];

pub(crate) const INSTRUMENTS: &[Case] = &[
    modbus("no framing", "framing = \"modbus-rtu\"\n", ""),
    modbus("a framing that is not known", "modbus-rtu", "modbus"),
    modbus("another framing's file", "modbus-rtu", "text-line"),
    modbus("a function that writes", "function = 4", "function = 6"),
    modbus("a function that reads bits", "function = 4", "function = 1"),
    modbus("an address out of range", "address = 10", "address = 70000"),
    modbus("a register past the end", "address = 10", "address = 65535"),
    modbus("a type that is not known", "\"i16\"", "\"int16\""),
    modbus("a word order that is not known", "high-first", "big-endian"),
    modbus(
        "a byte order that is not known",
        "word_order = \"high-first\"",
        "word_order = \"high-first\"\nbyte_order = \"big\"",
    ),
    modbus("registers without a type", "type = \"i16\"\n", ""),
    modbus("a bit of a register function", "\"i16\"", "\"bit\""),
    modbus("bits past the register", "\"i16\"", "\"u16\"\nbits = [12, 5]"),
    modbus("bits of a float", "word_order = \"high-first\"", "word_order = \"high-first\"\nbits = [0, 4]"),
    modbus("two registers without an order", "word_order = \"high-first\"", ""),
    modbus("bits that are one number", "\"i16\"", "\"u16\"\nbits = [12]"),
    modbus("a raw word that is no number", "0x7FFF", "\"0x7FFG\""),
    modbus("a scale of nothing", "scale = 0.1", "scale = 0"),
    modbus("a raw word wider than its register", "0x7FFF", "0x1FFFF"),
    modbus("a reason that is not known", "reason = \"open\"", "reason = \"broken\""),
    modbus("two readings of one name", "name = \"p1\"", "name = \"t1\""),
    modbus("registers that overlap", "function = 3\naddress = 10", "function = 4\naddress = 0"),
    modbus(
        "a request longer than the protocol allows",
        "framing = \"modbus-rtu\"",
        "framing = \"modbus-rtu\"\nlongest_request = 200",
    ),
    modbus("a key that is not known", "scale = 0.1", "factor = 0.1"),
    modbus("no reading", "[[reading]]\nname = \"t1\"", "[[readings]]\nname = \"t1\""),
    line("more_fields as a number", "separator = \",\"", "separator = \",\"\nmore_fields = 2"),
    line("a separator that numbers use", "separator = \",\"", "separator = \".\""),
    line("a separator of two characters", "separator = \",\"", "separator = \", \""),
    line("a position of nothing", "position = 2", "position = 0"),
    line("a position that is taken", "position = 2", "position = 1"),
    line("a word that is listed twice", "word = \"--\"", "word = \"-1\", reason = \"open\" }, { word = \"-1.0\""),
    line("a longest line of nothing", "longest = 200", "longest = 0"),
    line("no position", "position = 2\n", ""),
    line("a position beside a pattern", "separator = \",\"", "pattern = \"{h}% {p}hPa\""),
    line(
        "a pattern that is not closed",
        AIR,
        "framing = \"text-line\"\npattern = \"{h% {p\"\n[[reading]]\nname = \"h\"\n",
    ),
    line(
        "a pattern without its reading",
        AIR,
        "framing = \"text-line\"\npattern = \"{h}%\"\n[[reading]]\nname = \"p\"\n",
    ),
    line(
        "a pattern and a prefix",
        AIR,
        "framing = \"text-line\"\npattern = \"{h}%\"\nprefix = \"x\"\n[[reading]]\nname = \"h\"\n",
    ),
    line("a decimal comma that separates", "separator = \",\"", "decimal_comma = true"),
    line(
        "a checksum that is not known",
        "separator = \",\"",
        "separator = \",\"\nchecksum = { algorithm = \"crc16\" }",
    ),
    line("a checksum with a mark of nothing", "separator = \",\"", "checksum = { algorithm = \"xor\", before = \"\" }"),
    line(
        "a checksum written otherwise",
        "separator = \",\"",
        "checksum = { algorithm = \"xor\", written = \"octal\" }",
    ),
    line("lines told in two ways", "separator = \",\"", "separator = \",\"\n[[line]]\nprefix = \"A\"\nreading = []\n"),
    line("no reading at all", AIR, "framing = \"text-line\"\n"),
    line("two kinds of lines that begin alike", AIR, KINDS),
    line(
        "a query that commands",
        AIR,
        "framing = \"text-line\"\n[[query]]\nsend = \"*RST\"\nreading = [{ name = \"p\", position = 1 }]\n",
    ),
    line(
        "a query that may command",
        AIR,
        "framing = \"text-line\"\n[[query]]\nsend = \"READ\"\nreading = [{ name = \"p\", position = 1 }]\n",
    ),
    line(
        "a query of two lines",
        AIR,
        "framing = \"text-line\"\n[[query]]\nsend = \"OUT 1\\nP?\"\nreading = [{ name = \"p\", position = 1 }]\n",
    ),
    line("a query without readings", AIR, "framing = \"text-line\"\n[[query]]\nsend = \"P?\"\n"),
    line(
        "a query asked all the time",
        AIR,
        "framing = \"text-line\"\n[[query]]\nsend = \"P?\"\nperiod = \"0s\"\nreading = [{ name = \"p\", position = 1 }]\n",
    ),
    line(
        "an end of queries that is not known",
        AIR,
        "framing = \"text-line\"\nquery_end = \"\\r\"\n[[query]]\nsend = \"P?\"\nreading = [{ name = \"p\", position = 1 }]\n",
    ),
];

const FRAMES: &str = r#"framing = "binary"

[frame]
kind = "sync"
sync = "AA 55"
length = 12
checksum = "CRC-16/MODBUS"
checksum_order = "low-first"

[[reading]]
name = "h"
byte = 2
type = "u16"
order = "low-first"
bits = [0, 4]
unit = "%"

[[reading]]
name = "p"
byte = 4
type = "f32"
order = "high-first"
when = { byte = 2, is = 1 }
unit = "hPa"
nothing = [{ raw = 0, reason = "open" }]
"#;

/// One thing changed in a file of binary frames, which stands in place of the lines'.
pub(crate) const BINARY: &[(&str, &str, &str)] = &[
    ("nothing", "", ""),
    ("no kind of frame", "kind = \"sync\"\n", ""),
    ("a kind that is not known", "\"sync\"", "\"hdlc\""),
    ("no sync", "sync = \"AA 55\"\n", ""),
    ("a sync that is no bytes", "AA 55", "AA55"),
    ("a sync of SLIP", "\"sync\"", "\"slip\""),
    ("no length", "length = 12\n", ""),
    ("a length that cannot hold the checksum", "length = 12", "length = 3"),
    ("a length longer than the longest", "length = 12", "length = 12\nlongest = 8"),
    ("a length in two ways", "length = 12", "length = 12\nlength_field = { byte = 2, type = \"u8\", adds = 5 }"),
    ("a long length without order", "length = 12", "length_field = { byte = 2, type = \"u16\", adds = 5 }"),
    ("a checksum that is not known", "CRC-16/MODBUS", "modbus"),
    ("a checksum without order", "checksum_order = \"low-first\"\n", ""),
    ("a number without order", "order = \"high-first\"\n", ""),
    ("an order that is not known", "\"high-first\"", "\"big\""),
    ("a type that is not known", "\"u16\"", "\"word\""),
    ("bits past the number", "[0, 4]", "[14, 4]"),
    ("a reading past the frame", "byte = 4", "byte = 7"),
    ("a kind byte past the frame", "is = 1", "is = 256"),
    ("two readings of one name", "name = \"h\"", "name = \"p\""),
    ("a raw number wider than its bits", "bits = [0, 4]", "bits = [0, 4]\nnothing = [{ raw = 16, reason = \"open\" }]"),
    ("a key that is not known", "unit = \"%\"", "units = \"%\""),
    ("no reading", "[[reading]]", "[[readings]]"),
];

/// The file of frames with one thing changed.
pub(crate) fn frames((_, from, to): &(&str, &str, &str)) -> String {
    assert!(FRAMES.contains(from), "{from:?}");
    FRAMES.replace(from, to)
}

pub(crate) const NETWORK: &[Case] = &[
    net("no address", "address = \"192.0.2.1:5000\"\n", ""),
    net("an address without a port", "192.0.2.1:5000", "192.0.2.1"),
    net("a transport that is not known", "quiet_s = 5.0", "transport = \"sctp\""),
    net("a name to listen on", "address = \"192.0.2.1:5000\"", "address = \"box:5000\"\ntransport = \"udp\""),
    net("a sender that is no address", "quiet_s = 5.0", "transport = \"udp\"\nfrom = \"box\""),
    net("a sender over tcp", "quiet_s = 5.0", "from = \"192.0.2.1\""),
    net("a quiet that is negative", "quiet_s = 5.0", "quiet_s = -1.0"),
    net("a speed", "quiet_s = 5.0", "baud = 9600"),
];

const fn net(what: &'static str, from: &'static str, to: &'static str) -> Case {
    case(what, "run.toml", from, to)
}

const KINDS: &str = r#"framing = "text-line"

[[line]]
prefix = "A,"
reading = [{ name = "h", position = 1 }]

[[line]]
prefix = "A,B,"
reading = [{ name = "p", position = 1, unit = "hPa" }]
"#;

pub(crate) const BUS: &[Case] = &[
    bus("a message's identifier that is no number", "BO_ 288", "BO_ Machine"),
    bus("a mapped signal past its message", "16|16@1+ (0.001", "56|16@1+ (0.001"),
    bus("two signals of one name, one of them mapped", "SG_ Loop", "SG_ Speed"),
    bus("a mapped signal that shares bits", "16|16@1+ (0.001", "8|16@1+ (0.001"),
    bus("a mapped message whose identifier has no flag", "BO_ 288", "BO_ 2880"),
    bus("a signal cut short", "SG_ Loop : 16|16@1+ (0.001,0) [0|65.535]", "SG_ Loop : 16|16@1+ (0.001"),
    bus(
        "an empty database",
        "BO_ 288 Machine: 8 Controller\n SG_ Speed : 0|16@1+ (1,0) [0|65535] \"rpm\" Controller\n SG_ Loop : 16|16@1+ (0.001,0) [0|65.535] \"mA\" Controller\n",
        "",
    ),
];
