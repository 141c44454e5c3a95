//! One fault at a time: each is seen exactly once, and the line recovers.

use super::*;

/// Runs the twin device for 2 s with the third request answered otherwise; checks values and recovery.
async fn once(other: impl Fn(&[u8]) -> Reply + Send + 'static) -> Ran {
    let ran = run(&[twin()], ms(2000), but(2, other)).await;
    let values = ran.values();
    assert!(values.values().all(|n| *n >= 14), "{values:?}, faults {}", ran.faults());
    assert_eq!(ran.links(), []);
    ran
}

#[tokio::test(start_paused = true)]
async fn normal() {
    let ran = run(&[twin()], ms(2000), |_, r| good(r)).await;
    assert_eq!(ran.faults(), "");
    // 200 ms of silence after opening, then a poll every 100 ms from 0 to 1700.
    assert_eq!(ran.values(), BTreeMap::from([((1, 0x100), 18), ((1, 0x200), 18)]));
}

#[tokio::test(start_paused = true)]
async fn delay_below_the_time_out_is_no_fault() {
    let ran = once(|r| vec![(ms(49), true_answer(r))]).await;
    assert_eq!(ran.faults(), "");
}

#[tokio::test(start_paused = true)]
async fn silence() {
    assert_eq!(once(|_| vec![]).await.faults(), "time-out 1");
}

#[tokio::test(start_paused = true)]
async fn wrong_checksum() {
    let damaged = |r: &[u8]| {
        let mut a = true_answer(r);
        a[5] ^= 4;
        vec![(ms(2), a)]
    };
    assert_eq!(once(damaged).await.faults(), "checksum 1");
}

#[tokio::test(start_paused = true)]
async fn cut_off() {
    let cut = |r: &[u8]| vec![(ms(2), true_answer(r)[..7].to_vec())];
    assert_eq!(once(cut).await.faults(), "checksum 1");
}

#[tokio::test(start_paused = true)]
async fn exception() {
    let ran = once(|r| vec![(ms(2), sealed(&[r[0], r[1] | 0x80, 2]))]).await;
    assert_eq!(ran.faults(), "exception 1");
    // An exception is an answer: the next request follows at once, without a probe.
    assert_eq!(ran.asked[3].1, ran.asked[1].1);
}

#[tokio::test(start_paused = true)]
async fn address_of_no_device_on_the_line() {
    let other = |r: &[u8]| {
        let answer = true_answer(r);
        vec![(ms(2), sealed(&[&[9], &answer[1..answer.len() - 2]].concat()))]
    };
    assert_eq!(once(other).await.faults(), "wrong-answer 1");
}

#[tokio::test(start_paused = true)]
async fn wrong_function() {
    let other = |r: &[u8]| {
        let answer = true_answer(r);
        vec![(ms(2), sealed(&[&[r[0], 4], &answer[2..answer.len() - 2]].concat()))]
    };
    assert_eq!(once(other).await.faults(), "wrong-answer 1");
}

#[tokio::test(start_paused = true)]
async fn wrong_byte_count() {
    let other = |r: &[u8]| vec![(ms(2), sealed(&[&[r[0], r[1], 6], &true_answer(r)[3..9]].concat()))];
    assert_eq!(once(other).await.faults(), "wrong-answer 1");
}

#[tokio::test(start_paused = true)]
async fn noise_before_an_answer_does_not_spoil_it() {
    let ran = once(|r| vec![(ms(1), b"\xA7\x5C\x81".to_vec()), (ms(3), true_answer(r))]).await;
    assert_eq!(ran.faults(), "noise 1");
    assert_eq!(ran.values()[&(1, 0x100)], 18);
}

#[tokio::test(start_paused = true)]
async fn noise_inside_an_answer() {
    let split = |r: &[u8]| {
        let (a, b) = (true_answer(r)[..6].to_vec(), true_answer(r)[6..].to_vec());
        vec![(ms(2), a), (ms(4), vec![0xA7]), (ms(6), b)]
    };
    assert_eq!(once(split).await.faults(), "checksum 1");
}

#[tokio::test(start_paused = true)]
async fn noise_after_an_answer() {
    let ran = once(|r| vec![(ms(2), true_answer(r)), (ms(3), b"\xA7\x5C\x81".to_vec())]).await;
    assert_eq!(ran.faults(), "noise 1");
    assert_eq!(ran.values()[&(1, 0x100)], 18);
}

#[tokio::test(start_paused = true)]
async fn noise_and_no_answer() {
    let ran = once(|_| vec![(ms(2), b"\xA7\x5C\x81".to_vec())]).await;
    assert_eq!(ran.faults(), "noise 1, time-out 1");
}

#[tokio::test(start_paused = true)]
async fn noise_while_nothing_is_asked() {
    let ran = run(&[twin()], ms(2000), but(3, |r| [good(r), vec![(ms(40), b"\xA7".to_vec())]].concat())).await;
    assert_eq!(ran.faults(), "noise 1");
    assert_eq!(ran.values(), BTreeMap::from([((1, 0x100), 18), ((1, 0x200), 18)]));
}

#[tokio::test(start_paused = true)]
async fn single_bytes_make_a_whole_answer() {
    let ran = run(&[twin()], ms(2000), |_, r| {
        let answer = true_answer(r);
        answer.iter().zip(1..).map(|(b, i)| (ms(2) * i, vec![*b])).collect()
    })
    .await;
    assert_eq!(ran.faults(), "");
    assert_eq!(ran.values(), BTreeMap::from([((1, 0x100), 18), ((1, 0x200), 18)]));
}

#[tokio::test(start_paused = true)]
async fn answer_twice_at_once() {
    let ran = once(|r| vec![(ms(2), [true_answer(r), true_answer(r)].concat())]).await;
    assert_eq!(ran.faults(), "wrong-answer 1");
    // The first of the two is the answer; the device is suspect and asked a probe next.
    assert_eq!(ran.values()[&(1, 0x100)], 18);
    assert_eq!(ran.asked[3].1[5], 2);
}

#[tokio::test(start_paused = true)]
async fn answer_repeated_before_the_next_request() {
    let ran = run(&[twin()], ms(2000), but(3, |r| [good(r), vec![(ms(30), true_answer(r))]].concat())).await;
    assert_eq!(ran.faults(), "wrong-answer 1");
    assert_eq!(ran.values(), BTreeMap::from([((1, 0x100), 18), ((1, 0x200), 18)]));
}

#[tokio::test(start_paused = true)]
async fn answer_repeated_in_the_next_request() {
    // The repetition comes 1 ms before the answer to the next request, of the same shape.
    let ran = run(&[twin()], ms(2000), |i, r| match i {
        2 => [good(r), vec![(ms(6), true_answer(r))]].concat(),
        3 => vec![(ms(5), true_answer(r))],
        _ => good(r),
    })
    .await;
    let values = ran.values();
    assert!(values[&(1, 0x200)] >= 16, "{values:?}");
    // The same request was sent again, its two answers came one after the other: the repetition is the fault, and
    // the second true answer, which is not needed any more, comes late.
    assert_eq!(ran.faults(), "late-answer 1, wrong-answer 1");
}

#[tokio::test(start_paused = true)]
async fn two_different_answers_to_one_request() {
    let both = |r: &[u8]| vec![(ms(2), [sealed(&[r[0], r[1], 8, 9, 9, 9, 9, 9, 9, 9, 9]), true_answer(r)].concat())];
    assert_eq!(once(both).await.faults(), "late-answer 1, wrong-answer 1");
}
