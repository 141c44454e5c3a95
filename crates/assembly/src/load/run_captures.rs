//! The decoders of captures that say themselves how they are read: tables by their heads, recordings by what they
//! store.

use super::run_sources::Context;
use super::{CaptureFiles, load};
use crate::config::run::SourceCommon;
use crate::files::Files;
use crate::problem::{Problem, Problems};
use decode::Decoder;
use plugin_api::{CaptureSetup, OpenError};
use std::path::Path;
use toml::Spanned;

impl Context<'_> {
    /// For a table: by the head of its file.
    pub(super) fn table(
        &self,
        at: &Spanned<SourceCommon>,
        setup: &CaptureSetup,
        unit_places: &mut Vec<Option<String>>,
        bad: &mut Problems,
    ) -> Option<Decoder> {
        let s = at.get_ref();
        self.no_databases(s, bad);
        if setup.files.is_empty() {
            let message = format!("no file for the table {:?}", s.name.get_ref());
            bad.0.push(self.text.problem(&s.name, message, "write path = \"...\" or name it when you replay"));
            return None;
        }
        let heads = source_replay::table::heads(setup).map_err(|e| bad.0.push(self.open(e, at))).ok()?;
        *unit_places = heads.unit_places;
        let made = Decoder::table(heads.format);
        made.map_err(|e| bad.0.push(self.text.problem(&s.name, e.to_string(), ""))).ok()
    }

    /// For a source of a recording: as the recording's own configuration says, or with other databases or instruments
    /// where this run names any.
    pub(super) fn recorded(
        &self,
        at: &Spanned<SourceCommon>,
        setup: &CaptureSetup,
        (devices, simulated): (&mut Vec<String>, &mut bool),
        notes: &mut Vec<String>,
        bad: &mut Problems,
    ) -> Option<Decoder> {
        let s = at.get_ref();
        let (stored, there) = source_replay::recorded::stored(setup).map_err(|e| bad.0.push(self.open(e, at))).ok()?;
        let manifest = &stored.manifest;
        let files = Files::stored(manifest.files.iter().map(|f| (f.path.clone(), f.text.clone())));
        let run = manifest.files.iter().find(|f| f.role == "run").map(|f| f.path.clone()).unwrap_or_default();
        let folder = stored.folder.display();
        let assembled = match load(&files, Path::new(&run), &CaptureFiles::default()) {
            Ok(a) => a,
            Err(p) => {
                let message = format!("the configuration that {folder} stores does not load: {}", p.lines());
                bad.0.push(self.text.problem(&s.name, message, "it was made by another version of the program"));
                return None;
            }
        };
        let there = usize::from(there.0);
        if let Some(info) = manifest.layout.sources.get(there) {
            (*devices, *simulated) = (info.devices.clone(), info.simulated);
        }
        if !s.databases.is_empty() {
            notes.push(format!("{} is decoded with this run's databases, not those {folder} stores", setup.name));
            let made = Decoder::can(self.database(s, notes, bad)?);
            return made.map_err(|e| bad.0.push(self.text.problem(&s.name, e.to_string(), ""))).ok();
        }
        if let Some(d) = s.device.first() {
            let message = "a recording source has the devices that the recording stores";
            bad.0.push(self.text.problem(&d.name, message, "leave [[source.device]] out"));
        }
        let found = assembled.plan.sources.get(there).map(|p| p.decoder.clone());
        if found.is_none() {
            let message = format!("the configuration that {folder} stores has fewer sources than its manifest");
            bad.0.push(self.text.problem(&s.name, message, "bring the manifest back from a copy"));
        }
        found
    }

    /// Why a capture does not open: in the run file where its options are wrong.
    fn open(&self, e: OpenError, at: &Spanned<SourceCommon>) -> Problem {
        match e {
            OpenError::Options(e) => self.option(e, at.span()),
            OpenError::Capture(e) => Problem::bare(e.to_string(), ""),
        }
    }
}
