//! `bise demo`

use crate::args::{DemoArgs, Format, Pace};
use crate::exit::Exit;
use crate::show;
use crate::signals::{Signals, Why};
use assembly::Error;
use assembly::demo::{Demo, DemoOptions, FAST, RigReport};
use assembly::record::Recorded;
use indicatif::ProgressBar;
use pipeline::{Plan, SourceCounts};
use serde_json::json;
use std::sync::Arc;
use stream::FaultKind;

pub(crate) fn run(args: &DemoArgs) -> Result<Exit, Error> {
    let pace = match args.pace {
        Pace::Real => 1.0,
        Pace::Fast => FAST,
    };
    let options = DemoOptions { pace, can: args.can.clone(), recordings: args.out.clone(), metrics: args.metrics };
    let mut signals = Signals::catch()?;
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
    signals.leave_at_once(demo.session.folder());
    let (recorded, rig) = demo.stop();
    match args.format {
        Format::Json => {
            let mut all = show::counts_json(&plan, &recorded.counts);
            all["recording"] = json!(recorded.folder);
            all["entries"] = json!(recorded.entries);
            all["not_recorded"] = json!(recorded.not_recorded);
            all["troubles"] = json!(recorded.troubles);
            all["sensors"] = recorded.sensors.iter().map(show::sensor_json).collect();
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
    let found = injected(&plan, &recorded, &rig).iter().all(|(_, sent, seen)| seen >= sent);
    let clean = found && rig.trouble.is_empty();
    Ok(if clean { super::record::exit_of(&plan, &recorded) } else { Exit::Incomplete })
}

fn tick(demo: &Demo, seconds: f64, bar: &ProgressBar) -> bool {
    let now = demo.now();
    bar.set_position((now / seconds * 1000.0) as u64);
    now >= seconds || demo.session.is_over()
}

/// What the rig injected, and what the run saw of it; a busy machine adds time-outs of its own.
fn injected(plan: &Plan, recorded: &Recorded, rig: &RigReport) -> [(&'static str, u64, u64); 4] {
    let sum = |f: fn(&SourceCounts) -> u64| recorded.counts.sources.iter().map(f).sum::<u64>();
    let room = plan.layout.sources.iter().position(|s| s.name == "room");
    let unplugged = room.and_then(|i| recorded.counts.sources.get(i)).map_or(0, |c| c.link_losses);
    let (a, b) = (&rig.thermocouples, &rig.pressures);
    [
        ("wrong checksums", a.wrong_crc + b.wrong_crc, sum(|c| c.faults[FaultKind::Checksum as usize - 1])),
        ("late answers", a.late + b.late, sum(|c| c.faults[FaultKind::LateAnswer as usize - 1])),
        (
            "unanswered requests",
            a.silent + b.silent + a.late + b.late,
            sum(|c| c.faults[FaultKind::TimeOut as usize - 1]),
        ),
        ("unplugged hygrometers", rig.unplugged_hygrometer, unplugged),
    ]
}

fn summary(plan: &Plan, recorded: &Recorded, rig: &RigReport, why: Why) {
    if why == Why::Signal {
        say!("stopped by a signal, in order\n");
    }
    show::counts(plan, &recorded.counts);
    say!();
    for (what, sent, seen) in injected(plan, recorded, rig) {
        let found = if seen >= sent { "found" } else { "NOT ALL FOUND" };
        say!("injected by the rig: {sent} {what}, seen {seen}: {found}");
    }
    say!("CAN frames sent while the run listened: about {}", rig.can_frames);
    show::shortfalls(plan, &recorded.counts);
    show::sensors(&recorded.sensors);
    super::record::ending(recorded);
    for t in &rig.trouble {
        say!("trouble in the rig: {t}");
    }
    say!("next: bise replay {} --compare", recorded.folder.display());
}
