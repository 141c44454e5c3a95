//! Rate, loss and time stamps.

use crate::harness::*;
use plugin_api::{Clock, Message};
use socketcan::Socket;
use std::thread::sleep;
use std::time::{Duration, Instant};
use stream::GapCause;

/// More than a saturated classic bus at 1 Mbit/s carries (from memory), for as long as the requirement says.
#[test]
fn ten_thousand_frames_a_second() {
    const RATE: u32 = 10_000;
    const SECONDS: u32 = 30;
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan0\"");
    let socket = sender("vcan0");
    let start = Instant::now();
    for n in 0..RATE * SECONDS {
        if n % 10 == 0 {
            let due = Duration::from_micros(u64::from(n) * 1_000_000 / u64::from(RATE));
            sleep(due.saturating_sub(start.elapsed()));
        }
        socket.write_frame(&numbered(n)).unwrap();
    }
    let sent_in = start.elapsed().as_secs_f64();
    running.until("all frames", |m| m.len() > (RATE * SECONDS) as usize);
    let received_in = start.elapsed().as_secs_f64();
    let messages = running.stop();
    let numbers: Vec<u32> = frames(&messages).iter().map(number).collect();
    let (sent, received) = (RATE * SECONDS, numbers.len());
    println!(
        "rate: {sent} frames sent in {sent_in:.2} s ({:.0}/s), {received} received by {received_in:.2} s, {} told lost",
        f64::from(sent) / sent_in,
        told_lost(&messages)
    );
    assert!(numbers.iter().copied().eq(0..sent), "frames are missing or out of order");
    assert_eq!(told_lost(&messages), 0);
    assert_eq!(faults(&messages), []);
    assert!(sent_in < 1.05 * f64::from(SECONDS), "this machine is too slow to show the rate: {sent_in:.2} s");
}

/// A small buffer and a sender as fast as it goes, closed by a frame after the flood. Lost = jumps in the sequence =
/// sum of the gaps; no gap is told after the frame that follows it.
#[test]
fn what_a_flood_loses_is_told() {
    const COUNT: u32 = 100_000;
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan0\"\nreceive_buffer = 4096");
    let socket = sender("vcan0");
    let start = Instant::now();
    for n in 0..COUNT {
        socket.write_frame(&numbered(n)).unwrap();
    }
    let sent_in = start.elapsed().as_secs_f64();
    sleep(Duration::from_millis(500));
    socket.write_frame(&numbered(COUNT)).unwrap();
    running.until("the last frame", |m| m.iter().rev().find_map(frame).is_some_and(|f| number(&f) == COUNT));
    let messages = running.stop();
    println!(
        "flood: {COUNT} frames sent in {sent_in:.2} s ({:.0}/s) and one after it, {} received, {} told lost in {} gaps",
        f64::from(COUNT) / sent_in,
        frames(&messages).len(),
        told_lost(&messages),
        messages.iter().filter(|m| matches!(m, Message::Gap(_))).count()
    );
    let (mut told, mut jumps, mut next) = (0, 0, 0);
    let mut newest = None;
    for m in &messages {
        match m {
            Message::Gap(g) => {
                assert_eq!(g.cause, GapCause::KernelDrop);
                assert!(g.lost > 0 && g.from <= g.to && newest.is_none_or(|t| g.from >= t));
                told += g.lost;
            }
            Message::Record(r) => {
                let n = u64::from(number(&frame(m).unwrap()));
                assert!(n >= next, "frame {n} after {next}");
                jumps += n - next;
                assert!(told >= jumps, "frame {n} came before its gap was told");
                next = n + 1;
                newest = Some(r.event_time);
            }
            Message::Link(_) => {}
        }
    }
    let received = frames(&messages).len() as u64;
    assert!(jumps > 0, "nothing was lost: this shows nothing");
    assert_eq!(jumps, told);
    assert_eq!(received + told, u64::from(COUNT) + 1);
    assert_eq!(faults(&messages), []);
}

/// Lost after the last frame that is ever received, while the source is held up: told all the same.
#[test]
fn what_is_lost_last_is_told_too() {
    const COUNT: u64 = 2000;
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan0\"\nreceive_buffer = 4096");
    let socket = sender("vcan0");
    socket.write_frame(&classic(HOLDS_UP, &[])).unwrap();
    running.until_frames(1);
    for n in 0..COUNT {
        socket.write_frame(&numbered(n as u32)).unwrap();
    }
    running.until("the sum", |m| m.iter().filter_map(frame).count() as u64 + told_lost(m) > COUNT);
    let messages = running.stop();
    println!(
        "last: {} frames sent, {} received, {} told lost",
        COUNT + 1,
        frames(&messages).len(),
        told_lost(&messages)
    );
    assert!(told_lost(&messages) > 0, "nothing was lost: this shows nothing");
    assert_eq!(frames(&messages).len() as u64 + told_lost(&messages), COUNT + 1);
}

/// Event time is when the kernel received the frame, not when the source came to read it.
#[test]
fn frames_have_the_time_of_the_kernel() {
    let _one = one_at_a_time();
    let running = Running::up("interface = \"vcan0\"");
    let socket = sender("vcan0");
    let mut sent = vec![running.clock.now()];
    socket.write_frame(&classic(HOLDS_UP, &[])).unwrap();
    for n in 0..300 {
        sleep(Duration::from_millis(if n < 10 { 10 } else { 1 }));
        sent.push(running.clock.now());
        socket.write_frame(&numbered(n)).unwrap();
    }
    running.until_frames(sent.len());
    let messages = running.stop();
    let times: Vec<i64> = messages
        .iter()
        .filter_map(|m| match m {
            Message::Record(r) => Some(r.event_time.0),
            _ => None,
        })
        .collect();
    assert_eq!(faults(&messages), []);
    assert!(times.is_sorted());
    let late: Vec<f64> = times.iter().zip(&sent).map(|(t, s)| (t - s.0) as f64 / 1e6).collect();
    let most = late.iter().copied().fold(f64::MIN, f64::max);
    let least = late.iter().copied().fold(f64::MAX, f64::min);
    println!(
        "stamps: {} frames, {least:.3} to {most:.3} ms after they were sent; the source was held up 300 ms",
        sent.len()
    );
    assert!(least > -1.0, "{least} ms before it was sent");
    // The first frames waited up to 300 ms in the buffer.
    assert!(most < 100.0, "{most} ms after it was sent");
}
