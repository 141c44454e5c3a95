//! A responder that delays, repeats, damages, loses and adds at random, by seed: no record ever carries a value of
//! another register. It answers in order, as devices do; copies of what was on the line come up to the worst answer
//! time after it.

use super::*;

struct Random(u64);

impl Random {
    /// xorshift64*, G. Marsaglia, Xorshift RNGs, J. Statistical Software 8 (14), 2003; multiplier by S. Vigna.
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 16
    }

    fn below(&mut self, n: u64) -> u64 {
        self.next() % n.max(1)
    }

    fn chance(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }
}

struct Adversary {
    random: Random,
    /// When each unit's latest answer goes out: answers come in order.
    busy: BTreeMap<u8, Instant>,
    /// The longest delay of a unit, ms.
    longest: fn(u8) -> u64,
    trouble: u64,
}

impl Adversary {
    fn reply(&mut self, request: &[u8]) -> Reply {
        let (now, r) = (Instant::now(), &mut self.random);
        if r.chance(self.trouble / 2) {
            return vec![];
        }
        let longest = (self.longest)(request[0]);
        let delay = match r.below(100) {
            n if n >= 2 * self.trouble => 1 + r.below(4),
            n if n >= self.trouble => r.below(60),
            _ => r.below(longest),
        };
        let busy = self.busy.get(&request[0]).copied().unwrap_or(now);
        let at = (now + ms(delay)).max(busy + ms(1));
        self.busy.insert(request[0], at);
        let mut reply = vec![];
        let wait = at - now;
        let answer =
            if r.chance(self.trouble / 3) { sealed(&[request[0], request[1] | 0x80, 6]) } else { true_answer(request) };
        let mut on_the_line = answer;
        if r.chance(self.trouble / 2) {
            for _ in 0..=r.below(2) {
                let bit = r.below(8 * on_the_line.len() as u64) as usize;
                on_the_line[bit / 8] ^= 1 << (bit % 8);
            }
        }
        if r.chance(self.trouble / 3) {
            on_the_line.truncate(r.below(on_the_line.len() as u64) as usize + 1);
        }
        if r.chance(self.trouble / 2) {
            let noise = (0..=r.below(9)).map(|_| r.below(256) as u8).collect();
            reply.push((wait.saturating_sub(ms(r.below(5))), noise));
        }
        if r.chance(self.trouble / 2) {
            reply.push((wait + ms(r.below(200)), on_the_line.clone()));
        }
        if r.chance(self.trouble) {
            let rest = on_the_line.split_off(r.below(on_the_line.len() as u64) as usize);
            reply.push((wait + Duration::from_micros(400), rest));
        }
        if !on_the_line.is_empty() {
            reply.push((wait, on_the_line));
        }
        reply
    }
}

async fn attack(seed: u64, trouble: u64) -> Ran {
    // Device 1: blocks of like shapes, up to 5 times its worst answer time. Device 2: single registers, within it.
    let mut blocks = device(1, &[(0x100, 4), (0x200, 4), (0x300, 4), (0x400, 2)]);
    let mut singles = device(2, &[(0x100, 1), (0x200, 1), (0x300, 1)]);
    blocks.0.period = ms(50);
    singles.0.period = ms(70);
    let longest = |unit| if unit == 1 { 1000 } else { 200 };
    let random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let mut adversary = Adversary { random, busy: BTreeMap::new(), longest, trouble };
    run(&[blocks, singles], Duration::from_secs(120), move |_, r| adversary.reply(r)).await
}

#[tokio::test(start_paused = true)]
async fn no_value_of_another_register_ever() {
    let (mut polls, mut values, mut faults) = (0, 0, 0);
    for seed in 1..=24 {
        let ran = attack(seed, [2, 6, 12, 20][seed as usize % 4]).await;
        let seen = ran.values();
        assert_eq!(seen.len(), 7, "seed {seed}: every register is read in the end, {seen:?}");
        polls += ran.asked.len();
        values += seen.values().sum::<u32>();
        faults += ran.fault_list().len();
    }
    println!("{polls} requests, {values} values, {faults} faults");
    assert!(polls > 10_000 && values > 5_000 && faults > 2_000, "{polls} {values} {faults}");
}
