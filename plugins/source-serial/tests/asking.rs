//! An instrument that is asked, on a scripted line with tokio's time paused: a late answer is never the next query's.
#![allow(clippy::unwrap_used)]

use decode::text::LineFramer;
use plugin_api::asking::ask;
use plugin_api::{DeviceSetup, Framing, Message, Messages, Query, Wire, fake};
use std::time::Duration;
use stream::RecordKind;
use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};

fn ms(n: u64) -> Duration {
    Duration::from_millis(n)
}

/// Two queries, `A?` every 100 ms and `B?` every 200 ms; time-out 50 ms, worst answer time 300 ms.
fn setup() -> (DeviceSetup, Messages) {
    let lines = Messages::new(RecordKind::TextLine, || LineFramer::new(80));
    let query = |text: &str, period| Query { bytes: text.as_bytes().to_vec(), period };
    let setup = DeviceSetup {
        name: "scale".into(),
        framing: Framing::Messages(lines.clone()),
        queries: vec![query("A?\r\n", None), query("B?\r\n", Some(ms(200)))],
        period: ms(100),
        time_out: ms(50),
        worst_answer: ms(300),
    };
    (setup, lines)
}

/// What is answered to the n-th query: after so long these bytes.
type Script = fn(usize, &str) -> Vec<(u64, String)>;

/// The answer says what was asked.
fn good(query: &str) -> Vec<(u64, String)> {
    vec![(5, format!("{query}=1\r\n"))]
}

/// Queries with when they came, and what was handed over.
async fn ran(time: Duration, script: Script) -> (Vec<(u128, String)>, Vec<String>) {
    let (near, mut far) = duplex(256);
    let (mut intake, taken, _stop) = fake::intake();
    let asked = std::sync::Arc::new(std::sync::Mutex::new(Vec::new()));
    let seen = asked.clone();
    let start = tokio::time::Instant::now();
    tokio::spawn(async move {
        let (mut n, mut buffer) = (0, [0; 64]);
        let mut due: Vec<(tokio::time::Instant, String)> = Vec::new();
        loop {
            due.sort_by_key(|d| d.0);
            let next = due.first().map_or_else(|| tokio::time::Instant::now() + ms(1_000_000), |d| d.0);
            tokio::select! {
                read = far.read(&mut buffer) => {
                    let Ok(1..) = read else { return };
                    let text = String::from_utf8_lossy(&buffer[..read.unwrap()]).trim_end().to_owned();
                    seen.lock().unwrap().push((start.elapsed().as_millis(), text.clone()));
                    let now = tokio::time::Instant::now();
                    due.extend(script(n, &text).into_iter().map(|(wait, bytes)| (now + ms(wait), bytes)));
                    n += 1;
                }
                () = tokio::time::sleep_until(next) => {
                    let (_, bytes) = due.remove(0);
                    if far.write_all(bytes.as_bytes()).await.is_err() { return }
                }
            }
        }
    });
    let (setup, lines) = setup();
    let listed = |bytes: &[u8]| if bytes == b"A?\r\n" || bytes == b"B?\r\n" { Ok(()) } else { Err("no".to_owned()) };
    let mut wire = Wire::new(near, "scripted", Box::new(listed));
    let asking = ask(&mut wire, 0, &setup, &lines, &mut intake);
    assert!(tokio::time::timeout(time, asking).await.is_err(), "the line was lost");
    let told = taken.all().into_iter().map(|m| match m {
        Message::Record(r) => match r.fault() {
            Some((_, kind, bytes)) => format!("{} {}", kind.word(), bytes.escape_ascii()),
            None => {
                assert_eq!((r.kind, &r.payload[..2]), (RecordKind::TextAnswer, &[0, 0][..]));
                let (query, line) = (["A?", "B?"][usize::from(r.payload[2])], String::from_utf8_lossy(&r.payload[4..]));
                assert!(line.starts_with(query), "{query} got {line}");
                line.into_owned()
            }
        },
        Message::Link(l) => format!("device {}", l.state.word()),
        other => format!("{other:?}"),
    });
    let asked = asked.lock().unwrap().clone();
    (asked, told.collect())
}

#[tokio::test(start_paused = true)]
async fn each_query_at_its_period() {
    let (asked, told) = ran(ms(750), |_, q| good(q)).await;
    // Silence for the worst answer time first.
    assert_eq!(asked[0], (300, "A?".to_owned()));
    let a = asked.iter().filter(|q| q.1 == "A?").count();
    assert_eq!((a, asked.len() - a), (5, 3), "{asked:?}");
    assert_eq!(told.len(), 8, "{told:?}");
}

#[tokio::test(start_paused = true)]
async fn late_answers_are_faults_and_a_probe_comes_before_the_next_value() {
    let (asked, told) = ran(ms(2000), |n, q| match n {
        1 => vec![(120, format!("{q}=late\r\n"))],
        // Later than the worst answer time: behind the probe, which is no value either.
        5 => vec![(310, format!("{q}=later\r\n"))],
        _ => good(q),
    })
    .await;
    let faults: Vec<&String> = told.iter().filter(|t| !t.contains("=1") || t.contains(' ')).collect();
    assert_eq!(faults[0], "time-out B?\\r\\n", "{told:?}");
    assert_eq!(faults[1], "late-answer B?=late");
    assert!(asked.len() > 8 && told.iter().filter(|t| t.ends_with("=1") && !t.contains(' ')).count() >= 5, "{told:?}");
}

#[tokio::test(start_paused = true)]
async fn two_lines_to_one_query_are_no_answer() {
    let (_, told) = ran(ms(1500), |n, q| match n {
        0 => vec![(5, format!("{q}=1\r\n{q}=2\r\n"))],
        // The second line comes a moment later: the first is taken, the second never.
        4 => vec![(5, format!("{q}=1\r\n")), (15, format!("{q}=2\r\n"))],
        _ => good(q),
    })
    .await;
    assert!(told[..2].iter().all(|t| t.starts_with("wrong-answer A?=")), "{told:?}");
    assert!(told.iter().filter(|t| t.contains("=2")).all(|t| t.starts_with("wrong-answer")), "{told:?}");
}

#[tokio::test(start_paused = true)]
async fn an_echo_is_no_answer_and_a_broken_line_neither() {
    let (_, told) = ran(ms(700), |n, q| match n {
        0 => vec![(1, format!("{q}\r\n")), (5, format!("{q}=1\r\n"))],
        1 => vec![(5, format!("{q}=1"))],
        _ => good(q),
    })
    .await;
    assert_eq!(told, ["A?=1", "noise B?=1", "time-out B?\\r\\n"]);
}

#[tokio::test(start_paused = true)]
async fn who_does_not_answer_is_down_and_comes_back() {
    let (asked, told) = ran(ms(20_000), |n, q| if n < 5 { vec![] } else { good(q) }).await;
    assert_eq!(told[..4], ["time-out A?\\r\\n", "time-out B?\\r\\n", "time-out A?\\r\\n", "device down"], "{told:?}");
    assert!(told.contains(&"device up".to_owned()));
    assert!(told.iter().filter(|t| t.ends_with("=1")).count() > 100);
    // Less and less often while it is down.
    assert!(asked[4].0 - asked[3].0 > asked[3].0 - asked[2].0, "{:?}", &asked[..6]);
}

#[tokio::test(start_paused = true)]
async fn nothing_but_the_listed_queries_goes_out() {
    let (asked, _) = ran(ms(5000), |n, q| if n % 3 == 0 { vec![] } else { good(q) }).await;
    assert!(asked.iter().all(|(_, q)| q == "A?" || q == "B?"), "{asked:?}");
}
