//! Late answers.

use super::*;

#[tokio::test(start_paused = true)]
async fn before_the_worst_answer_time() {
    let ran = run(&[twin()], ms(2000), but(2, |r| vec![(ms(120), true_answer(r))])).await;
    assert_eq!(ran.faults(), "late-answer 1, time-out 1");
    assert!(ran.values().values().all(|n| *n >= 15));
    // The wait ended with the late answer; what follows is a probe of another shape.
    assert_eq!(ran.asked[3].1[5], 2);
    assert!((ran.asked[3].0 - ran.asked[2].0) < ms(200));
}

#[tokio::test(start_paused = true)]
async fn after_the_worst_answer_time_during_the_probe() {
    // The probe goes out at 200 ms or a little later and is answered after 30 ms; the late answer comes before.
    let ran = run(&[twin()], ms(2000), |i, r| match i {
        2 => vec![(ms(225), true_answer(r))],
        3 => vec![(ms(30), true_answer(r))],
        _ => good(r),
    })
    .await;
    assert_eq!(ran.faults(), "late-answer 1, time-out 1");
    assert!(ran.values().values().all(|n| *n >= 14));
}

#[tokio::test(start_paused = true)]
async fn five_times_later_than_the_worst_answer_time() {
    // The device is busy for a second, then answers everything in order: the request and the probes.
    let mut first: Option<Instant> = None;
    let ran = run(&[twin()], ms(4000), move |i, r| {
        if i < 2 {
            return good(r);
        }
        let until = *first.get_or_insert(Instant::now()) + ms(1000);
        let wait = until.saturating_duration_since(Instant::now());
        vec![(wait.max(ms(2)), true_answer(r))]
    })
    .await;
    let late = ran.faults();
    // Asked at 0 (a value), then probes at 200, 600 … until the answers come.
    assert_eq!(late, "late-answer 3, time-out 3");
    assert!(ran.values().values().all(|n| *n >= 20), "{:?}", ran.values());
    assert_eq!(ran.links(), [(Some(0), LinkState::Down), (Some(0), LinkState::Up)]);
}

#[tokio::test(start_paused = true)]
async fn two_late_answers_together() {
    // The request and the first probe are answered together, after both have timed out.
    let mut asked_at = None;
    let ran = run(&[twin()], ms(3000), move |i, r| match i {
        2 => {
            asked_at = Some(Instant::now());
            vec![(ms(390), true_answer(r))]
        }
        3 => {
            let since = asked_at.map_or(ms(0), |t| Instant::now() - t);
            vec![(ms(390) - since, true_answer(r))]
        }
        _ => good(r),
    })
    .await;
    assert_eq!(ran.faults(), "late-answer 2, time-out 2");
    assert!(ran.values().values().all(|n| *n >= 20));
}

#[tokio::test(start_paused = true)]
async fn of_a_single_register_before_the_worst_answer_time() {
    let ran = run(&[singles()], ms(2000), but(2, |r| vec![(ms(199), true_answer(r))])).await;
    assert_eq!(ran.faults(), "late-answer 1, time-out 1");
    assert!(ran.values().values().all(|n| *n >= 14));
}

#[tokio::test(start_paused = true)]
async fn of_a_single_register_after_the_worst_answer_time() {
    // It comes while the probe is out, whose own answer follows: one of the two is the late one.
    let ran = run(&[singles()], ms(2000), but(2, |r| vec![(ms(220), true_answer(r))])).await;
    assert_eq!(ran.faults(), "late-answer 1, time-out 1");
    assert!(ran.values().values().all(|n| *n >= 14), "{:?}", ran.values());
}

#[tokio::test(start_paused = true)]
async fn of_a_single_register_that_never_comes() {
    let ran = run(&[singles()], ms(2000), but(2, |_| vec![])).await;
    assert_eq!(ran.faults(), "time-out 1");
    // Silence twice: after the time-out, and after the probe's answer, which could have been the late one.
    assert!(ran.asked[4].0 - ran.asked[2].0 > ms(400));
}

#[tokio::test(start_paused = true)]
async fn of_one_device_while_another_is_asked() {
    let (one, two) = (twin(), device(2, &[(0x100, 4)]));
    // Device 2 takes 20 ms for every answer; the late answer of device 1 falls into one of them.
    let ran = run(&[one, two], ms(3000), |i, r| match (i, r[0]) {
        (4, 1) => vec![(ms(220), true_answer(r))],
        (_, 2) => vec![(ms(20), true_answer(r))],
        _ => good(r),
    })
    .await;
    assert_eq!(ran.fault_list(), [(0, FaultKind::TimeOut), (0, FaultKind::LateAnswer)]);
    assert!(ran.values()[&(2, 0x100)] >= 26, "{:?}", ran.values());
}

#[tokio::test(start_paused = true)]
async fn refused_probe_is_followed_by_silence() {
    // A device that refuses parts of its block: the exception could be the late one.
    let ran = run(&[twin()], ms(3000), |i, r| match i {
        2 => vec![],
        _ if r[5] != 4 => vec![(ms(2), sealed(&[r[0], r[1] | 0x80, 3]))],
        _ => good(r),
    })
    .await;
    assert_eq!(ran.faults(), "exception 1, time-out 1");
    assert!(ran.asked[4].0 - ran.asked[3].0 > ms(200));
    assert!(ran.values().values().all(|n| *n >= 20));
}

#[tokio::test(start_paused = true)]
async fn equal_values_of_two_registers_are_asked_for_twice_and_used() {
    let zeros = |_: usize, r: &[u8]| vec![(ms(2), encode_answer(r, |_| 0).unwrap())];
    let ran = run(&[singles()], ms(2000), zeros).await;
    let records = ran.messages.iter().filter(|m| matches!(m, Message::Record(_))).count();
    assert_eq!(ran.faults(), "");
    assert_eq!(records, 36);
}
