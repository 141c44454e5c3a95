use super::*;

/// One attribute: length, type, value, padding.
fn attribute(kind: u16, value: &[u8]) -> Vec<u8> {
    let mut a = ((value.len() + 4) as u16).to_ne_bytes().to_vec();
    a.extend(kind.to_ne_bytes());
    a.extend(value);
    a.resize(a.len().next_multiple_of(4), 0);
    a
}

/// An `RTM_NEWLINK` message by rtnetlink(7).
fn message(hardware: u16, index: u32, flags: u32, attributes: &[Vec<u8>]) -> Vec<u8> {
    let mut body = vec![0, 0];
    body.extend(hardware.to_ne_bytes());
    body.extend(index.to_ne_bytes());
    body.extend(flags.to_ne_bytes());
    body.extend([0; 4]);
    body.extend(attributes.concat());
    head(16, &body)
}

fn head(kind: u16, body: &[u8]) -> Vec<u8> {
    let mut m = ((16 + body.len()) as u32).to_ne_bytes().to_vec();
    m.extend(kind.to_ne_bytes());
    m.extend([0; 10]);
    m.extend(body);
    m
}

fn u32s(numbers: &[u32]) -> Vec<u8> {
    numbers.iter().flat_map(|n| n.to_ne_bytes()).collect()
}

/// A controller at 500 kbit/s; `mode` = flags of its ctrlmode.
fn controller(mode: u32, state: u32) -> Vec<u8> {
    let mut stats = [0u64; 24];
    (stats[4], stats[6], stats[11]) = (99, 7, 5);
    let stats: Vec<u8> = stats.iter().flat_map(|n| n.to_ne_bytes()).collect();
    let data = [
        attribute(1, &u32s(&[500_000, 875, 125, 6, 7, 2, 1, 1])),
        attribute(4, &u32s(&[state])),
        attribute(5, &u32s(&[0xFFFF_FFFF, mode])),
        attribute(6, &u32s(&[100])),
        attribute(9, &u32s(&[2_000_000, 750])),
    ];
    let info = [attribute(1, b"can\0"), attribute(2 | 0x8000, &data.concat())];
    let attributes = [
        attribute(3, b"can0\0"),
        attribute(4, &u32s(&[16])),
        attribute(16, &[6]),
        attribute(18, &info.concat()),
        attribute(23, &stats),
        attribute(4711, b"of later kernels"),
    ];
    message(280, 5, 0x1_00C1, &attributes)
}

fn virtual_one(flags: u32, mtu: u32) -> Vec<u8> {
    let info = attribute(18, &attribute(1, b"vcan"));
    message(280, 3, flags, &[attribute(3, b"vcan1\0"), attribute(4, &u32s(&[mtu])), info])
}

#[test]
fn reads_a_controller() {
    let i = Interface::parse(&controller(2, 1)).unwrap();
    let expected = Interface {
        index: 5,
        name: "can0".into(),
        hardware: 280,
        up: true,
        kind: "can".into(),
        mtu: 16,
        bitrate: Some(500_000),
        data_bitrate: Some(2_000_000),
        state: Some(BusState::Warning),
        listen_only: Some(true),
        dropped: 7,
        overruns: 5,
    };
    assert_eq!(i, expected);
    assert_eq!(i.lost(), 12);
    assert_eq!(i.words(), "can, real, listen-only, 500000 bit/s, data 2000000 bit/s, error-warning, classic");
}

#[test]
fn reads_a_virtual_one() {
    let i = Interface::parse(&virtual_one(0xC1, 72)).unwrap();
    assert_eq!((i.is_virtual(), i.has_fd(), i.up, i.listen_only), (true, true, true, None));
    assert_eq!(i.words(), "vcan, virtual, classic and FD");
    assert_eq!(i.admit(false), Ok(()));
    let down = Interface::parse(&virtual_one(0x80, 16)).unwrap();
    assert_eq!(down.admit(false), Err("vcan1 is down: ip link set vcan1 up".into()));
}

#[test]
fn real_ones_must_listen_only_or_be_allowed() {
    let listening = Interface::parse(&controller(2, 0)).unwrap();
    assert_eq!(listening.admit(false), Ok(()));
    let i = Interface::parse(&controller(0x21, 0)).unwrap();
    assert_eq!(i.admit(true), Ok(()));
    assert_eq!(
        i.admit(false).unwrap_err(),
        "can0 is not in listen-only mode and would acknowledge frames on the bus; set the mode with: ip link set can0 \
         down; ip link set can0 type can bitrate 500000 listen-only on; ip link set can0 up; or allow it with \
         acknowledges = true"
    );
}

/// Whatever is not known to be virtual counts as real: another driver class, or none told.
#[test]
fn unknown_ones_are_real() {
    for kind in [&b"slcan\0"[..], b"vca\0", b"xvcan\0", b""] {
        let info = attribute(18, &attribute(1, kind));
        let i = Interface::parse(&message(280, 3, 1, &[attribute(3, b"x0\0"), info])).unwrap();
        assert!(!i.is_virtual() && i.admit(false).unwrap_err().contains("bitrate BITRATE listen-only on"));
        assert_eq!(i.admit(true), Ok(()));
    }
    let i = Interface::parse(&message(280, 3, 1, &[attribute(3, b"x0\0")])).unwrap();
    assert!(i.admit(false).is_err());
    assert_eq!(i.words(), "no driver class, real, listen-only unknown, classic");
}

#[test]
fn other_hardware_is_refused() {
    let i = Interface::parse(&message(1, 2, 1, &[attribute(3, b"eth0\0")])).unwrap();
    assert_eq!(i.admit(true), Err("eth0 is not a CAN interface".into()));
}

#[test]
fn refusals_of_the_kernel() {
    let refused = head(2, &[(-19i32).to_ne_bytes(), [0; 4]].concat());
    assert_eq!(Interface::parse(&refused), Err(AnswerError::Refused(libc::ENODEV)));
    assert_eq!(Interface::parse(&head(3, &[0; 4])), Err(AnswerError::OtherMessage(3)));
    let lowest = head(2, &i32::MIN.to_ne_bytes());
    assert_eq!(Interface::parse(&lowest), Err(AnswerError::Refused(i32::MAX)));
}

/// Cut anywhere, it is an error: nothing of a cut message is believed.
#[test]
fn cut_messages_are_errors() {
    let whole = controller(2, 0);
    for length in 0..whole.len() {
        assert!(matches!(Interface::parse(&whole[..length]), Err(AnswerError::CutOff { .. })), "{length} bytes");
    }
    let cut = head(2, &[]);
    assert_eq!(Interface::parse(&cut), Err(AnswerError::CutOff { need: 20, have: 16 }));
}

/// Any byte changed: an answer or an error, no panic. Lengths are where it would hurt.
#[test]
fn damaged_messages_do_no_harm() {
    let whole = controller(2, 0);
    for at in 0..whole.len() {
        for value in [0, 1, 3, 4, 0x7F, 0xFF] {
            let mut damaged = whole.clone();
            damaged[at] = value;
            let _ = Interface::parse(&damaged);
        }
    }
    let short = message(280, 1, 1, &[vec![3, 0, 3, 0]]);
    assert_eq!(Interface::parse(&short), Err(AnswerError::CutOff { need: 4, have: 4 }));
}

/// The real question on the machine the test runs on: every kernel has a loopback interface.
#[test]
fn asks_the_kernel() {
    let lo = Interface::find("lo").unwrap();
    assert_eq!((lo.name.as_str(), lo.hardware, lo.is_virtual()), ("lo", libc::ARPHRD_LOOPBACK, false));
    assert!(lo.index > 0 && lo.mtu > 0);
    let missing = Interface::find("no-such-can").unwrap_err();
    assert_eq!(missing.to_string(), "no-such-can does not exist: connect its adapter, or see `ip link` for the names");
    assert_eq!(Interface::find("a/b").unwrap_err().to_string(), "interface = \"a/b\" is no name of an interface");
}
