//! Periods, back-off, fairness.

use super::*;

#[tokio::test(start_paused = true)]
async fn periods_do_not_drift() {
    let ran = run(&[device(1, &[(0, 2)])], ms(60_200), |i, r| vec![(ms(1 + i as u64 % 40), true_answer(r))]).await;
    let times = ran.times(1);
    // The n-th request goes out at n · 100 ms, within the timer's and the silence's few milliseconds.
    assert_eq!(times.len(), 600);
    assert!(times.iter().zip(0u128..).all(|(t, n)| *t >= n * 100 && *t <= n * 100 + 4), "{times:?}");
    assert_eq!(ran.devices[0].overruns(), 0);
}

#[tokio::test(start_paused = true)]
async fn overrun_polls_as_fast_as_it_goes_and_counts() {
    let mut slow = device(1, &[(0, 2)]);
    slow.0.period = ms(10);
    let ran = run(&[slow], ms(5200), |_, r| vec![(ms(35), true_answer(r))]).await;
    let (polls, skipped) = (ran.times(1).len() as u64, ran.devices[0].overruns());
    assert!((120..=140).contains(&polls), "{polls}");
    // Every time on the grid was either polled or counted.
    assert!((495..=500).contains(&(polls + skipped)), "{polls} {skipped}");
    assert_eq!(ran.faults(), "");
}

#[tokio::test(start_paused = true)]
async fn dead_device_is_asked_ever_less_often() {
    let ran = run(&[device(7, &[(0, 2)])], ms(200_000), |_, _| vec![]).await;
    let times = ran.times(7);
    let gaps: Vec<u128> = times.windows(2).map(|w| (w[1] - w[0]) / 100).collect();
    // The first failure costs nothing; then pauses double from 0.2 s to 30 s, each after 0.2 s of silence.
    assert!(gaps.starts_with(&[2, 4, 6, 10, 18]), "{gaps:?}");
    assert!(gaps.iter().rev().take(3).all(|g| (302..=304).contains(g)), "{gaps:?}");
    assert_eq!(ran.faults(), format!("time-out {}", times.len()));
    assert_eq!(ran.links(), [(Some(0), LinkState::Down)]);
}

#[tokio::test(start_paused = true)]
async fn dead_device_does_not_slow_the_other() {
    let (mut dead, live) = (device(7, &[(0, 2)]), device(2, &[(0, 2)]));
    dead.0.worst_answer = ms(80);
    let ran = run(&[dead, live], ms(60_200), |_, r| if r[0] == 2 { good(r) } else { vec![] }).await;
    // 80 ms of silence fit into the live device's period: not one of its polls is lost.
    assert_eq!(ran.values(), BTreeMap::from([((2, 0), 600)]));
    let times = ran.times(2);
    assert!(times.iter().zip(0u128..).all(|(t, n)| *t >= n * 100 && *t <= n * 100 + 99), "{times:?}");
    assert_eq!(ran.devices[1].overruns(), 0);
    assert!(ran.times(7).len() <= 11, "{:?}", ran.times(7));
}

#[tokio::test(start_paused = true)]
async fn long_list_lets_others_in_between() {
    let blocks: Vec<(u16, u16)> = (0..20).map(|i| (i * 16, 2)).collect();
    let mut long = device(1, &blocks);
    long.0.period = ms(2000);
    let ran = run(&[long, device(2, &[(0, 2)])], ms(4200), |_, r| vec![(ms(20), true_answer(r))]).await;
    // 20 requests take half a second; device 2 keeps its 100 ms meanwhile.
    assert_eq!(ran.values()[&(2, 0)], 40);
    assert_eq!(ran.faults(), "");
}

#[tokio::test(start_paused = true)]
async fn returns_with_a_link_message() {
    let ran = run(&[twin()], ms(8000), |i, r| if (4..9).contains(&i) { vec![] } else { good(r) }).await;
    assert_eq!(ran.faults(), "time-out 5");
    assert_eq!(ran.links(), [(Some(0), LinkState::Down), (Some(0), LinkState::Up)]);
    assert!(ran.values().values().all(|n| *n > 30), "{:?}", ran.values());
}
