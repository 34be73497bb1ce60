//! Writes a plan of 10,000 devices (or as many as asked for) in memory, reads it, and prints how long that took.
#![allow(clippy::disallowed_methods, reason = "an example measures, which the crate never does")]

use loomwright_planfile::{Source, edit, read};
use std::fmt::Write as _;
use std::time::Instant;

fn plan_text(devices: usize) -> String {
    let mut text = String::from("[plan]\nname = \"Large\"\n\n[network.a]\nsubnet = \"10.0.0.0/8\"\naddresses = \"fixed\"\n\n");
    for place in 0..devices.div_ceil(10) {
        let _ = writeln!(text, "[place.room-{place}]\nname = \"Room {place}\"\nat = [{place}.0, 2.5]\nfeeds = [\"mains-{place}\"]\n");
    }
    for device in 0..devices {
        let (place, next) = (device / 10, (device + 1) % devices);
        let _ = writeln!(text, "[device.box-{device}]\ngear = \"stage-box-16\"\nplace = \"room-{place}\"\ntitle = \"Box {device}\"\n");
        let _ =
            writeln!(text, "[stream.s-{device}]\nfrom = \"box-{device}\" # remark\nto = [\"box-{next}\"]\nchannels = 8\nessential = true");
    }
    text
}

fn main() {
    let devices = std::env::args().nth(1).and_then(|count| count.parse().ok()).unwrap_or(10_000);
    let text = plan_text(devices);
    println!("{devices} devices, {} lines, {} bytes", text.lines().count(), text.len());
    let source = Source { name: "large.toml", text: &text };
    let mut times: Vec<u128> = Vec::new();
    for _ in 0..5 {
        let start = Instant::now();
        let loaded = read(source, None).expect("a good plan");
        times.push(start.elapsed().as_micros());
        assert_eq!(loaded.plan.devices.len(), devices);
    }
    println!("read: best {} us, worst {} us of 5", times.iter().min().expect("five runs"), times.iter().max().expect("five runs"));
    let broken = text.replace("channels = 8", "channels = eight");
    let start = Instant::now();
    let count = read(Source { name: "broken.toml", text: &broken }, None).err().map_or(0, |problems| problems.as_slice().len());
    println!("read with {count} problems: {} us", start.elapsed().as_micros());
    let change = edit::Edit::Set { table: edit::TableAt::plan(&["device", "box-7"]), key: "title".into(), value: "New".into() };
    let start = Instant::now();
    let edited = edit::apply(source, None, &[change]).expect("a good change");
    println!("edit and read again: {} us, {} bytes", start.elapsed().as_micros(), edited.texts.plan.len());
}
