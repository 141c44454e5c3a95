//! Interfaces that go down, go away and come back; what may be received from and what not.

use crate::harness::*;
use plugin_api::{Options, Port, SourceSetup};
use socketcan::Socket;
use std::thread::sleep;
use std::time::Duration;
use stream::{LinkState, SourceId};

fn until_link(running: &Running, what: &str, state: LinkState, text: &str) {
    running.until(what, |m| links(m).last().is_some_and(|l| l.0 == state && l.1.contains(text)));
}

#[test]
fn down_and_up() {
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan0\"");
    let socket = sender("vcan0");
    // These wait in the receive buffer while the interface goes down; they were received and must not be lost.
    socket.write_frame(&classic(HOLDS_UP, &[])).unwrap();
    for n in 0..100 {
        socket.write_frame(&numbered(n)).unwrap();
    }
    ip("link set vcan0 down");
    until_link(&running, "the loss", LinkState::Down, "vcan0 is down: ip link set vcan0 up");
    sleep(Duration::from_millis(1500));
    ip("link set vcan0 up");
    until_link(&running, "the return", LinkState::Up, "vcan0: vcan, virtual, classic");
    let socket = sender("vcan0");
    socket.write_frame(&numbered(100)).unwrap();
    running.until_frames(102);
    let messages = running.stop();
    let numbers: Vec<u32> = frames(&messages)[1..].iter().map(number).collect();
    assert_eq!(numbers, (0..=100).collect::<Vec<_>>());
    let states: Vec<LinkState> = links(&messages).iter().map(|l| l.0).collect();
    assert_eq!(states, [LinkState::Up, LinkState::Down, LinkState::Up], "{:?}", links(&messages));
}

#[test]
fn deleted_and_made_again() {
    let _one = one_at_a_time();
    let running = Running::start("interface = \"vcan9\"");
    until_link(&running, "the reason", LinkState::Down, "vcan9 does not exist: connect its adapter");
    ip("link add dev vcan9 type vcan");
    until_link(&running, "the other reason", LinkState::Down, "vcan9 is down: ip link set vcan9 up");
    ip("link set vcan9 up");
    for round in 0..3 {
        until_link(&running, "the link", LinkState::Up, "vcan9: vcan, virtual");
        let socket = sender("vcan9");
        socket.write_frame(&numbered(round)).unwrap();
        running.until_frames(round as usize + 1);
        let before = running.count();
        ip("link del vcan9");
        if round < 2 {
            // Once at leisure, once at once: the new one has another number.
            sleep(Duration::from_millis(if round == 0 { 1500 } else { 0 }));
            ip("link add dev vcan9 type vcan");
            ip("link set vcan9 up");
        }
        running.until("the loss", |m| links(&m[before..]).iter().any(|l| l.0 == LinkState::Down));
    }
    let messages = running.stop();
    let numbers: Vec<u32> = frames(&messages).iter().map(number).collect();
    assert_eq!(numbers, [0, 1, 2]);
    println!("deleted and made again: {:#?}", links(&messages));
}

#[test]
fn virtual_interfaces_are_known() {
    let _one = one_at_a_time();
    let known = |name| source_can::is_virtual(name).map_err(|e| e.to_string());
    assert_eq!((known("vcan0"), known("vcan1")), (Ok(true), Ok(true)));
    assert_eq!((known("can0"), known("can1"), known("lo")), (Ok(false), Ok(false), Ok(false)));
    assert!(known("vcan7").unwrap_err().starts_with("vcan7 does not exist"));
}

/// A controller that would acknowledge is refused with the command that helps; in listen-only mode it is taken;
/// when the mode is switched off again it is refused again.
#[test]
fn controllers_must_listen_only() {
    let _one = one_at_a_time();
    let running = Running::start("interface = \"can0\"");
    let refusal = "can0 is not in listen-only mode and would acknowledge frames on the bus; set the mode with: ip link \
                   set can0 down; ip link set can0 type can bitrate 500000 listen-only on; ip link set can0 up; or \
                   allow it with acknowledges = true";
    until_link(&running, "the refusal", LinkState::Down, refusal);
    // The command of the message.
    for command in ["link set can0 down", "link set can0 type can bitrate 500000 listen-only on", "link set can0 up"] {
        ip(command);
    }
    let detail = "can0: can, real, listen-only, 500000 bit/s, error-active, classic, receive buffer 33554432 bytes";
    until_link(&running, "the link", LinkState::Up, detail);
    for command in ["link set can0 down", "link set can0 type can listen-only off", "link set can0 up"] {
        ip(command);
    }
    until_link(&running, "the refusal again", LinkState::Down, refusal);
    println!("listen-only: {:#?}", links(&running.stop()));
    assert_eq!(statistic("can0", "tx_packets"), 0);
}

#[test]
fn acknowledging_is_allowed_by_the_run() {
    let _one = one_at_a_time();
    let running = Running::up("interface = \"can1\"\nacknowledges = true");
    sleep(Duration::from_millis(1500));
    let links = links(&running.stop());
    assert_eq!(links, [(
        LinkState::Up,
        "can1: can, real, not listen-only, 500000 bit/s, error-active, classic, may acknowledge frames (acknowledges = \
         true), receive buffer 33554432 bytes"
            .into()
    )]);
    assert_eq!(statistic("can1", "tx_packets"), 0);
}

#[test]
fn ports_are_listed() {
    let _one = one_at_a_time();
    let ports = (source_can::PLUGIN.list)();
    for p in &ports {
        println!("port {}: {}: {:?}", p.name, p.detail, p.openable);
    }
    let names: Vec<&str> = ports.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["can0", "can1", "vcan0", "vcan1"]);
    let openable: Vec<bool> = ports.iter().map(|p| p.openable.is_ok()).collect();
    assert_eq!(openable, [false, false, true, true]);
    let probe = |options: &str| -> Port {
        let options = Options::from_text(options);
        let setup = SourceSetup { id: SourceId(0), name: "bus".into(), options, devices: Vec::new() };
        (source_can::PLUGIN.probe)(&setup).unwrap()
    };
    assert_eq!(probe("interface = \"vcan1\"").openable, Ok(()));
    assert_eq!(probe("interface = \"can1\"\nacknowledges = true").openable, Ok(()));
    assert!(probe("interface = \"lo\"").openable.unwrap_err().starts_with("lo is not a CAN interface"));
}
