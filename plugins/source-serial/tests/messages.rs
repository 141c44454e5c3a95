//! An instrument that sends lines unasked, on a scripted line with tokio's time paused.
#![allow(clippy::unwrap_used)]

use decode::text::LineFramer;
use plugin_api::{Message, Messages, Wire, fake, messages::listen};
use std::time::Duration;
use stream::RecordKind;
use tokio::io::{AsyncWriteExt, duplex};

/// Sends the pieces one by one, then hangs up; each message as "time-in-ms kind text".
async fn told(pieces: &[&[u8]], longest: usize) -> Vec<String> {
    let (near, mut far) = duplex(64);
    let (mut intake, taken, _stop) = fake::intake();
    let pieces: Vec<Vec<u8>> = pieces.iter().map(|p| p.to_vec()).collect();
    tokio::spawn(async move {
        for piece in pieces {
            tokio::time::sleep(Duration::from_millis(10)).await;
            far.write_all(&piece).await.unwrap();
        }
        tokio::time::sleep(Duration::from_millis(10)).await;
    });
    let lines = Messages::new(RecordKind::TextLine, move || LineFramer::new(longest));
    let lost = listen(&mut Wire::silent(near, "scripted"), 0, &lines, None, &mut intake).await;
    assert!(lost.to_string().starts_with("scripted: the far end is gone"), "{lost}");
    let tell = |m: Message| match m {
        Message::Record(r) => {
            let ms = r.event_time.0 / 1_000_000;
            match r.fault() {
                Some((0, kind, bytes)) => format!("{ms} {} {}", kind.word(), bytes.escape_ascii()),
                _ => {
                    assert_eq!((r.kind, &r.payload[..2]), (RecordKind::TextLine, &[0, 0][..]));
                    format!("{ms} line {}", r.payload[2..].escape_ascii())
                }
            }
        }
        other => format!("{other:?}"),
    };
    taken.all().into_iter().map(tell).collect()
}

#[tokio::test(start_paused = true)]
async fn lines_however_cut_and_ended() {
    let told = told(&[b"half\r\nT1=", b"20.5", b"\r", b"\nT1=20.6\nT1=20.7\rT1=20.8\r\n"], 80).await;
    // The event time is that of the read that brought the terminator.
    assert_eq!(
        told,
        ["10 partial-line half", "30 line T1=20.5", "40 line T1=20.6", "40 line T1=20.7", "40 line T1=20.8"]
    );
}

#[tokio::test(start_paused = true)]
async fn lines_of_no_use_are_counted_and_kept() {
    let told = told(&[b"\n", b"123456789\n12345\n", b"\xFF\xFE\n67890\nrest"], 8).await;
    assert_eq!(
        told,
        ["20 too-long 12345678", "20 line 12345", "30 malformed \\xff\\xfe", "30 line 67890", "40 partial-line rest"]
    );
}
