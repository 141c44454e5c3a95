//! Choosing a probe: a read whose answer cannot be taken for one that is still owed.

use decode::modbus::{Function, Request};

/// What tells answers apart.
pub(crate) fn shape(r: &Request) -> (Function, u8) {
    (r.function(), r.data_length())
}

/// A request whose answer is never used as a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Probe {
    pub(crate) request: Request,
    /// Whether its answer differs in shape from all that are owed.
    pub(crate) decisive: bool,
}

/// The best probe of a device: part of a listed block with a shape that is neither owed nor listed; else one that is
/// not owed; else the first request. Even quantities first: some devices refuse half a two-register number.
pub(crate) fn choose(listed: &[Request], owed: &[Request]) -> Option<Probe> {
    let free = |r: &Request, taken: &[Request]| taken.iter().all(|t| shape(t) != shape(r));
    let parts = || listed.iter().flat_map(parts);
    let request = parts()
        .find(|r| free(r, owed) && free(r, listed))
        .or_else(|| parts().chain(listed.iter().copied()).find(|r| free(r, owed)));
    match request {
        Some(request) => Some(Probe { request, decisive: true }),
        None => listed.first().map(|r| Probe { request: *r, decisive: false }),
    }
}

/// Shorter reads from the start of a block.
fn parts(r: &Request) -> impl Iterator<Item = Request> + use<'_> {
    let even = (1..r.quantity()).filter(|n| n % 2 == 0);
    let odd = (1..r.quantity()).filter(|n| n % 2 == 1);
    even.chain(odd).filter_map(|n| Request::new(r.unit(), r.function(), r.address(), n).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(address: u16, quantity: u16) -> Request {
        Request::new(1, Function::ReadHoldingRegisters, address, quantity).unwrap()
    }

    #[test]
    fn takes_a_part_of_a_block_with_a_shape_of_its_own() {
        let listed = [read(100, 4), read(200, 2)];
        assert_eq!(choose(&listed, &[read(100, 4)]), Some(Probe { request: read(100, 1), decisive: true }));
        assert_eq!(
            choose(&listed, &[read(100, 4), read(100, 1), read(100, 3)]),
            Some(Probe { request: read(100, 2), decisive: true })
        );
    }

    #[test]
    fn says_when_shapes_cannot_differ() {
        let listed = [read(100, 1), read(200, 1)];
        assert_eq!(choose(&listed, &[read(200, 1)]), Some(Probe { request: read(100, 1), decisive: false }));
        assert_eq!(choose(&[], &[]), None);
    }

    #[test]
    fn bits_differ_only_by_whole_bytes() {
        let bits = |n| Request::new(1, Function::ReadCoils, 0, n).unwrap();
        assert!(!choose(&[bits(8)], &[bits(8)]).unwrap().decisive);
        assert_eq!(choose(&[bits(9)], &[bits(9)]), Some(Probe { request: bits(2), decisive: true }));
    }
}
