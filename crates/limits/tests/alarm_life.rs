//! The life of alarms against tables written by hand: every sequence of events to length 6.

#![allow(clippy::unwrap_used)]

use Event::{Ack, Bring, Expire, Free, In, Lost, Out, Reset, Shelve, Suppress, Take, Unshelve};
use limits::{Alarm, Limit, LimitSpec, Settings, kinds};
use stream::{AlarmState, Alarms, ChannelId, EventTime, Reading, Reason, Span};

/// What can happen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Event {
    Out,
    In,
    Lost,
    Ack,
    Reset,
    Shelve,
    Unshelve,
    /// The shelving's time is over.
    Expire,
    Suppress,
    Free,
    Take,
    Bring,
}

/// A limit with its alarms, as the core drives them; an event a second.
#[derive(Clone)]
struct Rig {
    limit: Limit,
    alarm: Alarm,
    time: EventTime,
}

impl Rig {
    fn new(latching: bool) -> Rig {
        let (kind, unit) = (kinds::find("above").unwrap(), units::find("K").unwrap());
        let spec = LimitSpec::new("hot", ChannelId(0), kind, Settings::threshold(300.0, 5.0), unit, "own example");
        let limit = Limit::new(LimitSpec { latching, ..spec }).unwrap();
        Rig { limit, alarm: Alarm::default(), time: EventTime(0) }
    }

    fn reading(&mut self, reading: Reading) {
        let change = self.limit.step(self.time, self.time, &[reading]);
        self.alarm.follow(&self.limit, change.as_ref());
    }

    fn event(&mut self, event: Event) -> Alarms {
        self.time = self.time + Span::from_secs(1);
        match event {
            Out => self.reading(Reading::Good(301.0)),
            In => self.reading(Reading::Good(290.0)),
            Lost => self.reading(Reading::Bad(Reason::Open)),
            Ack => _ = self.alarm.acknowledge(),
            Reset => {
                let change = self.limit.reset();
                self.alarm.follow(&self.limit, change.as_ref());
            }
            Shelve => self.alarm.shelve(self.time + Span::from_secs(100)),
            Unshelve => _ = self.alarm.unshelve(),
            Expire => {
                self.alarm.pass(self.time + Span::from_secs(99));
                self.alarm.pass(self.time + Span::from_secs(1000));
            }
            Suppress => _ = self.alarm.suppress(true),
            Free => _ = self.alarm.suppress(false),
            Take => _ = self.alarm.take_out(true),
            Bring => _ = self.alarm.take_out(false),
        }
        self.alarm.states()
    }
}

/// Calls back with every sequence of this length.
fn every_sequence(alphabet: &[Event], length: u32, mut f: impl FnMut(&[Event])) {
    let n = alphabet.len();
    for code in 0..n.pow(length) {
        let sequence: Vec<Event> = (0..length).map(|i| alphabet[code / n.pow(i) % n]).collect();
        f(&sequence);
    }
}

/// A table: the events, and for each state its letter, the alarm it is, and the letter of the state after each event.
struct Table {
    latching: bool,
    events: &'static [Event],
    rows: &'static [(&'static str, AlarmState, &'static str)],
}

const N: AlarmState = AlarmState::Normal;
const U: AlarmState = AlarmState::Unacknowledged;
const A: AlarmState = AlarmState::Acknowledged;
const R: AlarmState = AlarmState::ReturnedUnacknowledged;
const LU: AlarmState = AlarmState::LatchedUnacknowledged;
const LA: AlarmState = AlarmState::LatchedAcknowledged;
const SH: AlarmState = AlarmState::Shelved;

/// A limit that does not latch. S: shelved and gone; T: shelved and there.
const PLAIN: Table = Table {
    latching: false,
    events: &[Out, In, Ack, Shelve, Unshelve, Expire, Reset],
    rows: &[
        ("N", N, "U N N S N N N"),
        ("U", U, "U R A T U U U"),
        ("A", A, "A N A T A A A"),
        ("R", R, "U R N S R R R"),
        ("S", SH, "T S S S N N S"),
        ("T", SH, "T S T T U U T"),
    ],
};

/// A limit that latches. L: latched, nobody saw it; M: latched, seen; W: shelved and latched.
const LATCHING: Table = Table {
    latching: true,
    events: &[Out, In, Ack, Reset, Shelve, Unshelve],
    rows: &[
        ("N", N, "U N N N S N"),
        ("U", U, "U L A U T U"),
        ("A", A, "A M A A T A"),
        ("L", LU, "U L M R W L"),
        ("M", LA, "U M M N W M"),
        ("R", R, "U R N R S R"),
        ("S", SH, "T S S S S N"),
        ("T", SH, "T W T T T U"),
        ("W", SH, "T W W S W L"),
    ],
};

#[test]
fn every_sequence_to_length_6_follows_the_tables() {
    for table in [PLAIN, LATCHING] {
        let row = |letter: &str| *table.rows.iter().find(|r| r.0 == letter).unwrap();
        let (mut seen, fresh) = (0, Rig::new(table.latching));
        every_sequence(table.events, 6, |sequence| {
            let (mut rig, mut state) = (fresh.clone(), row("N"));
            for (i, event) in sequence.iter().enumerate() {
                let column = table.events.iter().position(|e| e == event).unwrap();
                state = row(state.2.split(' ').nth(column).unwrap());
                assert_eq!(rig.event(*event).crossed, state.1, "{:?}, latching {}", &sequence[..=i], table.latching);
                seen += 1;
            }
        });
        assert_eq!(seen, 6 * table.events.len().pow(6));
    }
}

/// With a value that may be lost: first letters the crossed alarm, second the one of no data. A value that is lost
/// before there was one raises nothing.
#[test]
fn no_data_is_an_alarm_of_its_own() {
    const EVENTS: [Event; 4] = [Out, In, Lost, Ack];
    let rows: [(&str, (AlarmState, AlarmState), &str); 17] = [
        ("0", (N, N), "UN NN 0 0"),
        ("NN", (N, N), "UN NN NU NN"),
        ("UN", (U, N), "UN RN UU AN"),
        ("AN", (A, N), "AN NN AU AN"),
        ("RN", (R, N), "UN RN RU NN"),
        ("NU", (N, U), "UR NR NU NA"),
        ("UU", (U, U), "UR RR UU AA"),
        ("AU", (A, U), "AR NR AU AA"),
        ("RU", (R, U), "UR RR RU NA"),
        ("NA", (N, A), "UN NN NA NA"),
        ("UA", (U, A), "UN RN UA AA"),
        ("AA", (A, A), "AN NN AA AA"),
        ("RA", (R, A), "UN RN RA NA"),
        ("NR", (N, R), "UR NR NU NN"),
        ("UR", (U, R), "UR RR UU AN"),
        ("AR", (A, R), "AR NR AU AN"),
        ("RR", (R, R), "UR RR RU NN"),
    ];
    let row = |name: &str| *rows.iter().find(|r| r.0 == name).unwrap();
    let fresh = Rig::new(false);
    every_sequence(&EVENTS, 6, |sequence| {
        let (mut rig, mut state) = (fresh.clone(), row("0"));
        for (i, event) in sequence.iter().enumerate() {
            let column = EVENTS.iter().position(|e| e == event).unwrap();
            state = row(state.2.split(' ').nth(column).unwrap());
            let Alarms { crossed, no_data } = rig.event(*event);
            assert_eq!((crossed, no_data), state.1, "{:?}", &sequence[..=i]);
        }
    });
}

/// All that hides, together; told from the whole history instead of a state:
/// * out of service before shelved before suppressed by design, each from its last switch
/// * waiting: it was raised while nothing hid it, or came out of hiding while there; and since then neither was it
///   acknowledged nor hidden
#[test]
fn what_hides_an_alarm_does_so_together() {
    const EVENTS: [Event; 9] = [Out, In, Ack, Shelve, Unshelve, Suppress, Free, Take, Bring];
    let last = |history: &[Event], on: Event, off: Event| {
        history.iter().rev().find(|e| **e == on || **e == off).is_some_and(|e| *e == on)
    };
    let hidden = |h: &[Event]| last(h, Take, Bring) || last(h, Shelve, Unshelve) || last(h, Suppress, Free);
    let state = |h: &[Event]| {
        let there = last(h, Out, In);
        let waiting = (0..h.len()).any(|i| {
            let (before, upto) = (&h[..i], &h[..=i]);
            let raised = h[i] == Out && !last(before, Out, In) && !hidden(before);
            let came_out = hidden(before) && !hidden(upto) && last(before, Out, In);
            let seen = |j: usize| h[j] == Ack || hidden(&h[..=j]);
            (raised || came_out) && !(i + 1..h.len()).any(seen)
        });
        match (there, waiting) {
            _ if last(h, Take, Bring) => AlarmState::OutOfService,
            _ if last(h, Shelve, Unshelve) => AlarmState::Shelved,
            _ if last(h, Suppress, Free) => AlarmState::SuppressedByDesign,
            (false, false) => N,
            (false, true) => R,
            (true, false) => A,
            (true, true) => U,
        }
    };
    let fresh = Rig::new(false);
    every_sequence(&EVENTS, 6, |sequence| {
        let mut rig = fresh.clone();
        let states = sequence.iter().map(|e| rig.event(*e).crossed).last();
        assert_eq!(states, Some(state(sequence)), "{sequence:?}");
    });
}

/// Whatever an operator does, a latched limit stays until it is reset, and bad data raises no crossing.
#[test]
fn a_latched_limit_never_clears_itself_and_bad_data_raises_no_crossing() {
    let fresh = Rig::new(true);
    every_sequence(&[Out, In, Lost, Ack, Shelve, Expire, Reset], 6, |sequence| {
        let mut rig = fresh.clone();
        let mut crossed = false;
        for event in sequence {
            rig.event(*event);
            let now = rig.limit.state().is_outside();
            match event {
                Out => assert!(now),
                Reset => assert!(!now || crossed),
                _ => assert_eq!(now, crossed, "{sequence:?}"),
            }
            crossed = now;
        }
    });
}
