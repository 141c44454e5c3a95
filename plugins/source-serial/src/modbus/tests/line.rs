//! The line itself: echo, loss, babble, silence.

use super::*;

#[tokio::test(start_paused = true)]
async fn echo_is_dropped_and_counted_once() {
    let ran = run(&[twin()], ms(2000), |_, r| vec![(ms(0), r.to_vec()), (ms(3), true_answer(r))]).await;
    assert_eq!(ran.faults(), "noise 1");
    assert_eq!(ran.values(), BTreeMap::from([((1, 0x100), 18), ((1, 0x200), 18)]));
}

#[tokio::test(start_paused = true)]
async fn echo_that_looks_like_an_answer_is_still_an_echo() {
    // Function 1, first coil 0x0305, 20 coils: the request's own bytes are a whole answer of 3 data bytes.
    let request = Request::new(1, Function::ReadCoils, 0x0305, 20).unwrap();
    let (setup, _) = twin();
    let answer = |r: &[u8]| encode_answer(r, |a| a % 2).unwrap();
    let ran = run(&[(setup, vec![request])], ms(1000), move |_, r| vec![(ms(0), r.to_vec()), (ms(3), answer(r))]).await;
    let mut answers = 0;
    for message in &ran.messages {
        let Message::Record(r) = message else { continue };
        if r.kind == RecordKind::ModbusAnswer {
            assert_eq!(r.payload[10..], answer(&request.frame()));
            answers += 1;
        }
    }
    assert_eq!((answers, ran.faults().as_str()), (8, "noise 1"));
}

#[tokio::test(start_paused = true)]
async fn lost_in_the_middle_of_an_answer() {
    let ran = run(&[twin()], ms(2000), but(2, |r| vec![(ms(2), true_answer(r)[..6].to_vec()), (ms(4), vec![])])).await;
    assert_eq!(ran.lost.as_ref().map(ToString::to_string), Some("scripted: the far end is gone (end of file)".into()));
    // The bytes that came are kept.
    assert_eq!(ran.faults(), "checksum 1");
    assert_eq!(ran.values(), BTreeMap::from([((1, 0x100), 1), ((1, 0x200), 1)]));

    // The line is back, and with it the answer that the loss cut off: silence, then a probe, then values.
    let again = run_again(ran.devices, ms(2000), |i, r| match i {
        0 => [good(r), vec![]].concat(),
        _ => good(r),
    })
    .await;
    assert_eq!(again.faults(), "");
    assert_eq!(again.asked[0].1[5], 2, "a probe comes first");
    assert_eq!(again.values(), BTreeMap::from([((1, 0x100), 18), ((1, 0x200), 18)]));
}

#[tokio::test(start_paused = true)]
async fn requests_keep_a_silence_of_3_5_characters() {
    // 3.5 characters of 11 bits at 19 200 bit/s are 2.005 ms; tokio's timer rounds up to whole ms.
    let ran = run(&[twin()], ms(2000), |_, r| vec![(ms(2), true_answer(r))]).await;
    let gap = ran.asked[1].0 - ran.asked[0].0;
    assert!(gap >= Duration::from_micros(4005) && gap <= ms(6), "{gap:?}");
}

#[tokio::test(start_paused = true)]
async fn babble_neither_grows_nor_stops_the_line() {
    let ran = run(&[twin()], ms(10_000), |i, r| match i {
        2 => (0..4000).map(|k| (ms(k), vec![0xA7; 8])).collect(),
        _ => good(r),
    })
    .await;
    ran.values();
    let bytes: usize = ran
        .messages
        .iter()
        .filter_map(|m| match m {
            Message::Record(r) => r.fault().filter(|f| f.1 == FaultKind::Noise).map(|f| f.2.len()),
            _ => None,
        })
        .sum();
    assert_eq!(bytes, 32_000, "every byte of it is kept");
    assert!(ran.values()[&(1, 0x100)] >= 20, "{:?}", ran.values());
}

#[tokio::test(start_paused = true)]
async fn full_port_is_a_lost_link() {
    // Nobody reads at the far end: the pipe takes 4 bytes and then nothing.
    let (near, far) = duplex(4);
    let (mut intake, _taken, _stop) = fake::intake();
    let mut devices = Device::all(&[twin()]);
    let timing = Timing::new(&options(), &intake);
    let lost =
        Master::new(Wire::new(near, "scripted", crate::door::modbus()), &mut intake, &mut devices, timing).run().await;
    assert!(lost.to_string().contains("takes no bytes"), "{lost}");
    drop(far);
}
