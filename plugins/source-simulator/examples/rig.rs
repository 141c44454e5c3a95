//! The rig alone, for trying a reader: `cargo run -p source-simulator --example rig -- FOLDER [SECONDS] [PACE]`.
//! Terminals appear as FOLDER/thermocouples and FOLDER/hygrometer; CAN frames go to the Unix datagram socket FOLDER/can
//! if somebody has made it. Ends with what was sent and injected.

use source_simulator::{CanOut, Rig, RigOptions};
use std::path::PathBuf;
use std::time::Duration;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("which folder? (FOLDER [SECONDS] [PACE])")?);
    let seconds: f64 = arguments.next().map_or(Ok(60.0), |a| a.parse())?;
    let pace: f64 = arguments.next().map_or(Ok(1.0), |a| a.parse())?;
    let can = CanOut::Link(folder.join("can"));
    let rig = Rig::start(RigOptions { pace, ..RigOptions::demonstration(folder, can) })?;
    println!("ready");
    while rig.now() < seconds {
        std::thread::sleep(Duration::from_millis(20));
    }
    println!("{:#?}", rig.stop());
    Ok(())
}
