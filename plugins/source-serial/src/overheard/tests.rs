use super::*;
use decode::modbus::{Function, Request, encode_answer};
use plugin_api::{Message, fake};
use tokio::io::{AsyncWriteExt, duplex};

#[tokio::test(start_paused = true)]
async fn pairs_by_device_and_strangers_without_one() {
    let (near, mut far) = duplex(1024);
    let (mut intake, taken, _stop) = fake::intake();
    let request = |unit, address| Request::new(unit, Function::ReadInputRegisters, address, 2).unwrap().frame();
    let pair = |unit, address| {
        let r = request(unit, address);
        [r.to_vec(), encode_answer(&r, |a| a).unwrap()].concat()
    };
    let script = [
        pair(4, 0),
        // The first pair came before listening was long enough.
        pair(4, 0),
        pair(8, 6),
        // A frame that is broken off gets the next one through nevertheless.
        request(4, 0)[..5].to_vec(),
        pair(4, 0),
        pair(4, 0),
    ];
    tokio::spawn(async move {
        for bytes in script {
            far.write_all(&bytes).await.unwrap();
            tokio::time::sleep(Duration::from_millis(600)).await;
        }
    });
    let devices = Overheard::new(vec![3, 4], Duration::from_millis(500));
    let lost = devices.run(&mut Wire::silent(near, "scripted"), &mut intake).await;
    assert!(lost.to_string().contains("the far end is gone"), "{lost}");
    let told: Vec<String> = taken
        .all()
        .into_iter()
        .map(|m| match m {
            Message::Record(r) => match r.fault() {
                Some((device, kind, bytes)) => format!("{device} {} {}", kind.word(), bytes.len()),
                None => format!("{} pair of {}", u16::from_le_bytes([r.payload[0], r.payload[1]]), r.payload[2]),
            },
            other => format!("{other:?}"),
        })
        .collect();
    assert_eq!(told, ["1 unpaired 9", "1 pair of 4", "65535 pair of 8", "65535 noise 5", "1 pair of 4", "1 pair of 4"]);
}
