//! Every kind of frame.

use crate::harness::*;
use decode::can::frame::CanFrame;
use decode::{Decoder, Raw};
use plugin_api::Message;
use socketcan::id::FdFlags;
use socketcan::{CanAnyFrame, CanErrorFrame, CanFdFrame, EmbeddedFrame, ExtendedId, Socket, StandardId};
use stream::{FaultKind, LinkState};

#[test]
fn classic_and_fd_frames() {
    let _one = one_at_a_time();
    let (both, classic_only) = (Running::up("interface = \"vcan1\""), Running::up("interface = \"vcan1\"\nfd = false"));
    let socket = fd_sender("vcan1");
    let long: Vec<u8> = (0..64).collect();
    let id = StandardId::new(0x201).unwrap();
    let sent = [
        CanAnyFrame::from(classic(0x200, &[1, 2, 3])),
        CanFdFrame::with_flags(id, &long, FdFlags::BRS).unwrap().into(),
        CanFdFrame::with_flags(id, &long[..12], FdFlags::ESI).unwrap().into(),
        CanFdFrame::with_flags(ExtendedId::new(0x18DA_F110).unwrap(), &[], FdFlags::empty()).unwrap().into(),
        socketcan::CanFrame::new(ExtendedId::new(0x1FFF_FFFF).unwrap(), &[8; 8]).unwrap().into(),
    ];
    for frame in sent {
        socket.write_frame(&frame).unwrap();
    }
    both.until_frames(5);
    classic_only.until_frames(2);
    let messages = both.stop();
    assert_eq!(
        frames(&messages),
        [
            CanFrame::data(0x200, 0, &[1, 2, 3]),
            CanFrame::data(0x201, CanFrame::FD | CanFrame::RATE_SWITCH, &long),
            CanFrame::data(0x201, CanFrame::FD | CanFrame::ERROR_STATE, &long[..12]),
            CanFrame::data(0x98DA_F110, CanFrame::FD, &[]),
            CanFrame::data(0x9FFF_FFFF, 0, &[8; 8]),
        ]
    );
    assert_eq!(faults(&messages), []);
    let messages = classic_only.stop();
    assert_eq!(frames(&messages), [CanFrame::data(0x200, 0, &[1, 2, 3]), CanFrame::data(0x9FFF_FFFF, 0, &[8; 8])]);
    assert_eq!(faults(&messages), []);
    let detail = &links(&messages)[0].1;
    assert!(
        detail.starts_with("vcan1: vcan, virtual, classic and FD, FD frames not received (fd = false)"),
        "{detail}"
    );
}

/// Only what the run asks for; 11 and 29 bits are told apart; error frames come all the same; the link says so.
#[test]
fn only_what_is_asked_for_is_kept() {
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan1\"\nkeep_only = [\"200\", \"300/7F0\", \"18FEF100/1FFFFF00\"]");
    let socket = fd_sender("vcan1");
    let long = |id| socketcan::CanFrame::new(ExtendedId::new(id).unwrap(), &[7]).unwrap();
    for frame in [classic(0x201, &[1]), classic(0x200, &[2]), long(0x200), classic(0x30F, &[3]), classic(0x310, &[4])] {
        socket.write_frame(&frame).unwrap();
    }
    let fd = |id| CanFdFrame::with_flags(StandardId::new(id).unwrap(), &[5; 12], FdFlags::empty()).unwrap();
    socket.write_frame(&fd(0x201)).unwrap();
    socket.write_frame(&fd(0x200)).unwrap();
    socket.write_frame(&long(0x18FE_F1AA)).unwrap();
    socket.write_frame(&CanErrorFrame::new_error(0x020, &[0; 8]).unwrap()).unwrap();
    socket.write_frame(&classic(0x200, &[6])).unwrap();
    running.until_frames(5);
    let messages = running.stop();
    let kept = [
        CanFrame::data(0x200, 0, &[2]),
        CanFrame::data(0x30F, 0, &[3]),
        CanFrame::data(0x200, CanFrame::FD, &[5; 12]),
        CanFrame::data(0x98FE_F1AA, 0, &[7]),
        CanFrame::data(0x200, 0, &[6]),
    ];
    assert_eq!(frames(&messages), kept);
    assert_eq!(faults(&messages).len(), 1);
    let detail = &links(&messages)[0].1;
    let said = "keeps only frames of 200, 300/7F0, 18FEF100/1FFFFF00 (keep_only), the others are not recorded";
    assert!(detail.contains(said), "{detail}");
}

#[test]
fn remote_frames() {
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan0\"");
    let socket = sender("vcan0");
    for length in [0, 5, 8] {
        let frame = socketcan::CanFrame::new_remote(StandardId::new(0x300).unwrap(), length).unwrap();
        socket.write_frame(&frame).unwrap();
    }
    running.until_frames(3);
    let messages = running.stop();
    let remote = |len| CanFrame { id: 0x300 | CanFrame::REMOTE, flags: 0, len, interface: 0, data: &[] };
    assert_eq!(frames(&messages), [remote(0), remote(5), remote(8)]);
}

/// Changes of the bus state are link entries, everything else of error frames is a fault with its bytes, nothing is
/// a data frame.
#[test]
fn error_frames() {
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan0\"");
    let socket = sender("vcan0");
    let sent: [(u32, [u8; 8]); 6] = [
        (0x004, [0, 0x04, 0, 0, 0, 0, 0, 0]),
        (0x004, [0, 0x20, 0, 0, 0, 0, 0, 0]),
        (0x088, [0, 0, 0x04, 0x0A, 0, 0, 0, 0]),
        (0x040, [0; 8]),
        (0x100, [0; 8]),
        (0x020, [0; 8]),
    ];
    for (classes, data) in sent {
        socket.write_frame(&CanErrorFrame::new_error(classes, &data).unwrap()).unwrap();
    }
    socket.write_frame(&classic(1, &[])).unwrap();
    running.until_frames(1);
    let messages = running.stop();
    let states: Vec<_> = links(&messages).into_iter().skip(1).collect();
    assert_eq!(
        states,
        [
            (LinkState::Degraded, "error-warning (controller: receive error warning)".into()),
            (LinkState::Degraded, "error-passive (controller: transmit error-passive)".into()),
            (LinkState::Down, "bus-off (bus-off)".into()),
            (LinkState::Up, "error-active (controller restarted)".into()),
        ]
    );
    let found = faults(&messages);
    assert_eq!(found.len(), 2);
    assert_eq!((found[0].0, &found[0].1[..4]), (FaultKind::BusError, &0x2000_0088u32.to_ne_bytes()[..]));
    assert_eq!((found[1].0, &found[1].1[..4]), (FaultKind::BusError, &0x2000_0020u32.to_ne_bytes()[..]));
    assert_eq!(frames(&messages), [CanFrame::data(1, 0, &[])]);
}

/// From the socket to readings, by a database.
#[test]
fn received_frames_decode() {
    const DATABASE: &str = "VERSION \"\"\n\nNS_ :\n\nBS_:\n\nBU_: UNIT\n\n\
        BO_ 291 AIR: 8 UNIT\n \
        SG_ TEMPERATURE : 0|16@1- (0.1,0) [-100|400] \"degC\" UNIT\n \
        SG_ SPEED : 23|16@0+ (2,0) [0|100000] \"1/min\" UNIT\n";
    let _one = one_at_a_time();
    let database = decode::can::CanDatabase::load(DATABASE, "air.dbc").unwrap();
    let decoder = Decoder::can(database).unwrap();
    let running = Running::up("interface = \"vcan0\"");
    let socket = sender("vcan0");
    // -40.0 degC little-endian, 24690 1/min big-endian.
    socket.write_frame(&classic(291, &[0x70, 0xFE, 0x30, 0x39, 0, 0, 0, 0])).unwrap();
    running.until_frames(1);
    let messages = running.stop();
    let mut readings = Vec::new();
    for m in &messages {
        if let Message::Record(r) = m {
            decoder
                .decode(r, &mut |index, raw| {
                    readings.push((decoder.readings()[usize::from(index)].name.clone(), raw));
                })
                .unwrap();
        }
    }
    let number = |name: &str| readings.iter().find(|r| r.0.contains(name)).and_then(|r| r.1.number());
    assert_eq!(readings.len(), 2, "{readings:?}");
    assert!(readings.iter().all(|r| matches!(r.1, Raw::Number(_))), "{readings:?}");
    assert!((number("TEMPERATURE").unwrap() - -40.0).abs() < 1e-12, "{readings:?}");
    assert_eq!(number("SPEED"), Some(24_690.0), "{readings:?}");
}
