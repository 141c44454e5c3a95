//! `bise demo`

use crate::args::{DemoArgs, Format, Pace};
use crate::exit::Exit;
use crate::show;
use crate::signals::{Signals, Why};
use assembly::Error;
use assembly::demo::{Demo, DemoOptions, FAST};
use assembly::record::Recorded;
use indicatif::ProgressBar;
use pipeline::Plan;
use serde_json::json;
use std::sync::Arc;

pub(crate) fn run(args: &DemoArgs) -> Result<Exit, Error> {
    let pace = match args.pace {
        Pace::Real => 1.0,
        Pace::Fast => FAST,
    };
    let options = DemoOptions { pace, can: args.can.clone(), recordings: args.out.clone(), metrics: args.metrics };
    let signals = Signals::catch()?;
    let demo = Demo::start(options)?;
    let plan = Arc::clone(demo.session.plan());
    if args.format == Format::Text {
        say!("A simulated pack of an invented unit, recorded and evaluated. {}", show::STANDING);
        say!("recording  {}", demo.session.folder().display());
        if let Some(a) = demo.session.address() {
            say!("metrics    http://{a}/metrics");
        }
        say!();
    }
    let seconds = args.length.as_secs_f64();
    let bar = show::progress("simulated run");
    let why = signals.wait(None, None, |_| false, || tick(&demo, seconds, &bar));
    bar.finish_and_clear();
    let (recorded, rig) = demo.stop();
    match args.format {
        Format::Json => {
            let mut all = show::counts_json(&plan, &recorded.counts);
            all["recording"] = json!(recorded.folder);
            all["entries"] = json!(recorded.entries);
            all["not_recorded"] = json!(recorded.not_recorded);
            all["troubles"] = json!(recorded.troubles);
            all["injected"] = json!({
                "wrong_checksums": rig.thermocouples.wrong_crc + rig.pressures.wrong_crc,
                "late_answers": rig.thermocouples.late + rig.pressures.late,
                "silences": rig.thermocouples.silent + rig.pressures.silent,
                "hygrometer_unplugged": rig.unplugged_hygrometer,
                "can_frames": rig.can_frames,
            });
            say!("{all:#}");
        }
        Format::Text => summary(&plan, &recorded, &rig, why),
    }
    let clean = recorded.troubles.is_empty() && recorded.not_recorded == 0 && rig.trouble.is_empty();
    Ok(if clean { Exit::Done } else { Exit::Incomplete })
}

fn tick(demo: &Demo, seconds: f64, bar: &ProgressBar) -> bool {
    let now = demo.now();
    bar.set_position((now / seconds * 1000.0) as u64);
    now >= seconds || demo.session.is_over()
}

fn summary(plan: &Plan, recorded: &Recorded, rig: &assembly::demo::RigReport, why: Why) {
    if why == Why::Signal {
        say!("stopped by a signal, in order\n");
    }
    show::counts(plan, &recorded.counts);
    say!(
        "\nThe rig injected: wrong checksums {}, late answers {}, silences {}, hygrometer unplugged {}.\n\
         While the run listened it sent about {} CAN frames.",
        rig.thermocouples.wrong_crc + rig.pressures.wrong_crc,
        rig.thermocouples.late + rig.pressures.late,
        rig.thermocouples.silent + rig.pressures.silent,
        rig.unplugged_hygrometer,
        rig.can_frames,
    );
    super::record::ending(recorded);
    for t in &rig.trouble {
        say!("trouble in the rig: {t}");
    }
    say!("next: bise replay {} --compare", recorded.folder.display());
}
