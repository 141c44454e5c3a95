//! The Modbus RTU line with its two modules. It speaks only when it is asked, as a module does: a request for another
//! address or with a wrong checksum gets no answer.

use crate::faults::Faults;
use crate::pty::{Pty, Wait};
use crate::script::{RigDevice, RigLine};
use crate::signals::Module;
use crate::world::World;
use decode::crc;
use decode::modbus::{Request, RequestError, encode_answer};
use std::io;
use std::path::Path;
use std::time::Duration;

/// How often stop and script are looked at, and how long bytes may stand without a next one before they are no
/// request: many times the 3.5 characters of silence that end a frame, since a pseudo-terminal has no baud rate.
const IDLE: Duration = Duration::from_millis(20);
/// The longest request an RTU line can carry.
const LONGEST: usize = 256;

// Exception codes: MODBUS Application Protocol Specification V1.1b3, section 7 (from memory).
const ILLEGAL_FUNCTION: u8 = 1;
const ILLEGAL_ADDRESS: u8 = 2;
const ILLEGAL_VALUE: u8 = 3;
const DEVICE_FAILURE: u8 = 4;

/// Serves the line until the rig is stopped.
pub(crate) fn serve(world: &World, link: &Path, first: Pty, mut faults: Faults) -> io::Result<()> {
    let modules = [(RigDevice::Thermocouples, Module::thermocouples()), (RigDevice::Pressures, Module::pressures())];
    let mut pty = first;
    let mut bytes = Vec::new();
    while !world.is_stopping() {
        if let Some(until) = faults.due(world.now()) {
            drop(pty);
            world.note(|r| r.count_unplugged(RigLine::Thermocouples));
            world.wait_until(until);
            pty = Pty::open(link)?;
            bytes.clear();
        }
        match pty.wait(IDLE)? {
            Wait::Readable => pty.read(&mut bytes)?,
            Wait::NobodyThere => {
                bytes.clear();
                world.pause(IDLE);
            }
            Wait::TimeOut if bytes.is_empty() => {}
            Wait::TimeOut => {
                // A request of another length than a read's: whole only when silence has ended it.
                if crc::modbus_fits(&bytes) {
                    answer(world, &pty, &modules, &mut faults, &bytes)?;
                } else {
                    world.note(|r| r.bad_requests += 1);
                }
                bytes.clear();
            }
        }
        while let Some(request) = bytes.get(..Request::LENGTH).filter(|b| crc::modbus_fits(b)) {
            let request = request.to_vec();
            bytes.drain(..Request::LENGTH);
            answer(world, &pty, &modules, &mut faults, &request)?;
        }
        if bytes.len() > LONGEST {
            world.note(|r| r.bad_requests += 1);
            bytes.clear();
        }
    }
    Ok(())
}

fn answer(
    world: &World,
    pty: &Pty,
    modules: &[(RigDevice, Module)],
    faults: &mut Faults,
    request: &[u8],
) -> io::Result<()> {
    let Some((device, module)) = modules.iter().find(|(_, m)| request.first() == Some(&m.unit)) else {
        return Ok(());
    };
    let device = *device;
    world.note(|r| r.device_mut(device).asked += 1);
    let (mut frame, exception) = reply(world, module, request);
    let pending = faults.of(device);
    if world.now() < pending.silent_until {
        world.note(|r| r.device_mut(device).silent += 1);
        return Ok(());
    }
    if !pending.noise.is_empty() {
        let sent = pty.write(&pending.noise.remove(0))?;
        world.note(|r| r.device_mut(device).noise += u64::from(sent));
    }
    let late = (!pending.late.is_empty()).then(|| pending.late.remove(0));
    let wrong = pending.wrong_crc > 0;
    if wrong {
        pending.wrong_crc -= 1;
        if let Some(last) = frame.last_mut() {
            *last ^= 0x55;
        }
    }
    if let Some(seconds) = late {
        world.wait_until(world.now() + seconds);
    }
    let sent = pty.write(&frame)?;
    world.note(|r| {
        let c = r.device_mut(device);
        let count = match (sent, wrong, late, exception) {
            (false, ..) => &mut c.unsent,
            (_, true, ..) => &mut c.wrong_crc,
            (_, _, Some(_), _) => &mut c.late,
            (.., true) => &mut c.exceptions,
            _ => &mut c.good,
        };
        *count += 1;
    });
    Ok(())
}

/// The answer to a request for this module, and whether it is an exception.
fn reply(world: &World, module: &Module, request: &[u8]) -> (Vec<u8>, bool) {
    let code = match (Request::parse(request), module.words(&world.sensed())) {
        (_, Err(e)) => {
            world.note(|r| r.count_trouble(e.to_string()));
            DEVICE_FAILURE
        }
        (Ok(r), _) if r.function() != module.function => ILLEGAL_FUNCTION,
        (Ok(r), Ok(words)) => {
            let end = usize::from(r.address()) + usize::from(r.quantity());
            let word = |address| words.get(usize::from(address)).copied().unwrap_or(0);
            match (end <= words.len()).then(|| encode_answer(request, word)) {
                Some(Ok(frame)) => return (frame, false),
                Some(Err(_)) => DEVICE_FAILURE,
                None => ILLEGAL_ADDRESS,
            }
        }
        (Err(RequestError::Quantity { .. } | RequestError::Length(_)), _)
            if request.get(1) == Some(&(module.function as u8)) =>
        {
            ILLEGAL_VALUE
        }
        (Err(RequestError::Range { .. }), _) => ILLEGAL_ADDRESS,
        (Err(_), _) => ILLEGAL_FUNCTION,
    };
    let function = request.get(1).copied().unwrap_or(0) | 0x80;
    let mut frame = vec![module.unit, function, code];
    let checksum = crc::modbus(&frame);
    frame.extend_from_slice(&checksum.to_le_bytes());
    (frame, true)
}
