//! Writes a capture of a busy audio port of about so many octets: 64 streams of 1 ms packets with losses, copies and late packets, clock
//! messages, membership reports, neighbours and address questions, all from one seed.
//!
//! `cargo run --release -p loomwright-evidence --example generate -- FILE OCTETS`
#![allow(clippy::disallowed_methods, reason = "an example reads arguments and writes files")]

use loomwright_evidence::{Moment, write};
use std::fs::File;
use std::io::{BufWriter, Write};

/// Streams on the port. **Source**: own choice: about 180 Mb/s.
const STREAMS: u32 = 64;
/// Payload of 48 samples of two channels in 24 bits. **Source**: arithmetic.
const PAYLOAD: usize = 288;

fn ethernet(to: [u8; 6], from: u32, kind: u16) -> Vec<u8> {
    let [_, a, b, c] = from.to_be_bytes();
    [&to[..], &[2, 0, 0x5e, a, b, c], &kind.to_be_bytes()].concat()
}

fn udp(from: u32, group: [u8; 4], port: u16, payload: &[u8]) -> Vec<u8> {
    let length = |more: usize| u16::try_from(payload.len() + more).unwrap_or(u16::MAX).to_be_bytes();
    let mut frame = ethernet([0x01, 0, 0x5e, group[1] & 0x7f, group[2], group[3]], from, 0x0800);
    frame.extend([0x45, 34 << 2]);
    frame.extend(length(28));
    frame.extend([0, 0, 0, 0, 32, 17, 0, 0, 10, 0, 0]);
    frame.push(from.to_be_bytes()[3]);
    frame.extend(group);
    frame.extend([port.to_be_bytes(), port.to_be_bytes(), length(8), [0, 0]].concat());
    frame.extend(payload);
    frame
}

fn packet(stream: u32, n: u32) -> Vec<u8> {
    let sequence = u16::try_from(n % 65_536).unwrap_or_default().to_be_bytes();
    let mut payload = vec![0x80, 98, sequence[0], sequence[1]];
    payload.extend(n.wrapping_mul(48).to_be_bytes());
    payload.extend((0x1000 + stream).to_be_bytes());
    payload.resize(12 + PAYLOAD, 0);
    let [_, _, _, last] = stream.to_be_bytes();
    udp(stream, [239, 69, 1, last], 5004, &payload)
}

/// Every eighth of a second, from each of four clocks.
fn sync(clock: u32, n: u32) -> Vec<u8> {
    let [_, _, high, low] = n.to_be_bytes();
    let [_, _, _, last] = clock.to_be_bytes();
    let mut message = vec![0, 2, 0, 44, 0, 0, 2, 0];
    message.extend([0; 12]);
    message.extend([2, 0, 0x5e, 0xff, 0xfe, 0, 0, last, 0, 1, high, low, 0, 0xfd]);
    message.extend([0; 10]);
    udp(clock, [224, 0, 1, 129], 319, &message)
}

fn neighbour(n: u32) -> Vec<u8> {
    let mut frame = ethernet([0x01, 0x80, 0xc2, 0, 0, 0x0e], n, 0x88cc);
    frame.extend([2, 7, 4, 2, 0, 0x5e, 0, 0, 1, 4, 3, 5, b'p', b'1', 6, 2, 0, 120, 10, 4, b's', b'w', b'-', b'1', 0, 0]);
    frame
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [file, octets] = &arguments[..] else { return Err("usage: generate FILE OCTETS".into()) };
    let octets: usize = octets.parse()?;
    let mut out = BufWriter::new(File::create(file)?);
    out.write_all(&write::header())?;
    let mut written = 24;
    let (mut n, mut seed, mut frames, mut buffer) = (0_u32, 7_u64, 0_u64, Vec::new());
    while written < octets {
        buffer.clear();
        let start = u64::from(n) * 1_000_000;
        for stream in 0..STREAMS {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let jitter = seed >> 48;
            let at = Moment(1_700_000_000_000_000_000 + start + u64::from(stream) * 10_000 + jitter % 9_000);
            match jitter % 10_000 {
                0 => {}
                1 => (0..2).for_each(|_| write::frame(&mut buffer, at, &packet(stream, n), None)),
                2 if n > 0 => [n, n - 1].iter().for_each(|&n| write::frame(&mut buffer, at, &packet(stream, n), None)),
                _ => write::frame(&mut buffer, at, &packet(stream, n), None),
            }
        }
        let at = Moment(1_700_000_000_000_000_000 + start + 900_000);
        if n % 125 == 0 {
            (0..4).for_each(|clock| write::frame(&mut buffer, at, &sync(100 + clock, n / 125), None));
        }
        if n % 10_000 == 0 {
            write::frame(&mut buffer, at, &neighbour(7), None);
        }
        out.write_all(&buffer)?;
        written += buffer.len();
        frames += 1;
        n = n.wrapping_add(1);
    }
    eprintln!("{file}: {written} octets, {frames} ms");
    Ok(out.flush()?)
}
