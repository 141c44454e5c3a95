//! Serves the metrics of an invented run, for trying a scraper: `cargo run -p sink-prometheus --example serve --
//! 127.0.0.1:9773`. One channel moves, one is stale now and then, one never comes.

#![allow(clippy::disallowed_methods)]

use plugin_api::{Counters, Options, SinkSetup};
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;
use std::time::Duration;
use stream::{
    Batch, ChannelId, Column, EventTime, Layout, LimitInfo, LimitState, Origin, Reading, Reason, Sample, Snapshot,
    SourceId, SourceInfo, Span,
};

fn column(name: &str, unit: &str) -> Column {
    let origin = Origin::Channel(SourceId(0));
    let (name, unit, ucum) = (name.into(), unit.into(), unit.into());
    let (provenance, about) = (String::new(), Vec::new());
    Column { name, unit, ucum, origin, provenance, with_uncertainty: false, about }
}

fn batch(tick: u64) -> Batch {
    let time = EventTime(tick as i64 * 100_000_000);
    let moving = Reading::Good(350.0 + (tick as f64 / 20.0).sin() * 10.0);
    let sometimes = if (tick / 50).is_multiple_of(2) { Reading::Good(0.42) } else { Reading::Stale };
    let readings = [moving, Reading::Good(101_325.0), sometimes, Reading::Missing(Reason::NotYet)].into();
    let samples = vec![Sample { time, channel: ChannelId(0), reading: moving }];
    let limits = [LimitState::Inside].into();
    let snapshot = Snapshot { time, readings, uncertainties: [].into(), limits, alarms: Box::default() };
    Batch { samples, snapshots: vec![snapshot], events: vec![] }
}

#[tokio::main(flavor = "current_thread")]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let address = std::env::args().nth(1).unwrap_or_else(|| "127.0.0.1:9773".into());
    let layout = Arc::new(Layout {
        run: "example \"quoted\"".into(),
        grid: Span::from_millis(100),
        sources: vec![SourceInfo { name: "line".into(), kind: "serial".into(), devices: vec![], simulated: true }],
        columns: vec![
            column("pack_in.temperature", "K"),
            column("ambient.pressure", "Pa"),
            column("pack_in.flow", "kg/s"),
            column("discharge.temperature", "K"),
        ],
        limits: vec![LimitInfo { name: "hot".into(), column: ChannelId(0), source: String::new() }],
    });
    let counters = Arc::new(Counters::new(&layout));
    let options = Options::from_text("");
    let setup = SinkSetup { options, layout, counters: counters.clone(), folder: None };
    let mut sink = (sink_prometheus::PLUGIN.build)(&setup)?;
    let router = sink.routes().ok_or("no routes")?;
    let listener = tokio::net::TcpListener::bind(&address).await?;
    println!("serving http://{}/metrics", listener.local_addr()?);
    tokio::spawn(async move { axum::serve(listener, router).await });
    for tick in 1u64.. {
        tokio::time::sleep(Duration::from_millis(100)).await;
        counters.snapshots.fetch_add(1, Relaxed);
        counters.sources[0].records.fetch_add(8, Relaxed);
        counters.event_time_ns.store(tick as i64 * 100_000_000, Relaxed);
        sink.write(&batch(tick))?;
    }
    Ok(())
}
