//! `rehearse` as a program: what it takes away on request, what it keeps, and what is left when it is killed.

use crate::running::{program, run};
use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::Stdio;
use std::thread;
use std::time::Duration;

/// A demo in a folder of its own.
fn with_demo(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a scratch folder");
    assert_eq!(run(folder.path(), &["new", "room.toml", "--demo", name]).code, 0);
    folder
}

/// Whether this system lets the program build; says so if not.
fn is_allowed(folder: &Path) -> bool {
    let tried = run(folder, &["rehearse", "room.toml", "--only", "cable:A-001"]);
    if tried.code == 2 {
        eprintln!("not tried: {}", tried.err);
    }
    tried.code != 2
}

/// Network namespaces that a process holds open, by the kernel's numbers.
fn held_by(process: &Path) -> BTreeSet<String> {
    let links = fs::read_dir(process.join("fd")).into_iter().flatten().flatten().map(|entry| entry.path());
    let own = process.join("ns/net");
    let names = links.chain([own]).filter_map(|link| Some(fs::read_link(link).ok()?.to_string_lossy().into_owned()));
    names.filter(|name| name.starts_with("net:[")).collect()
}

/// The same of every process and every mount of this machine.
fn held_by_anything() -> BTreeSet<String> {
    let is_process = |path: &Path| path.file_name().is_some_and(|name| name.to_string_lossy().bytes().all(|digit| digit.is_ascii_digit()));
    let all = fs::read_dir("/proc").into_iter().flatten().flatten().map(|entry| entry.path()).filter(|path| is_process(path));
    let mut held: BTreeSet<String> = all.flat_map(|process| held_by(&process)).collect();
    let mounts = fs::read_to_string("/proc/self/mountinfo").unwrap_or_default();
    held.extend(mounts.split_whitespace().filter(|word| word.starts_with("net:[")).map(str::to_owned));
    held
}

fn interfaces() -> Vec<String> {
    let text = fs::read_to_string("/proc/self/net/dev").unwrap_or_default();
    text.lines().filter_map(|line| line.split_once(':')).map(|(name, _)| name.trim().to_owned()).collect()
}

/// While it builds, and while streams run: the kernel takes all away with the process, because nothing but its open files holds it.
#[test]
fn killed_it_leaves_nothing_behind() {
    let folder = with_demo("meeting-room");
    if !is_allowed(folder.path()) {
        return;
    }
    for (moment, at_least) in [("building", 0), ("1 of", 4)] {
        let before = interfaces();
        let mut child =
            program(folder.path(), &["rehearse", "room.toml"]).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().expect("it starts");
        let mut lines = BufReader::new(child.stderr.take().expect("it is piped")).lines();
        lines.by_ref().map_while(Result::ok).find(|line| line.starts_with(moment)).expect("it says how far it is");
        let own = held_by(Path::new("/proc/self"));
        let held: BTreeSet<String> = held_by(Path::new(&format!("/proc/{}", child.id()))).difference(&own).cloned().collect();
        assert!(held.len() >= at_least, "{moment}: {held:?}");
        child.kill().expect("killed");
        child.wait().expect("ended");
        let left = || held_by_anything().intersection(&held).cloned().collect::<BTreeSet<String>>();
        for _ in 0..50 {
            if left().is_empty() {
                break;
            }
            thread::sleep(Duration::from_millis(100));
        }
        assert_eq!(left(), BTreeSet::new(), "{moment}: somebody still holds a namespace");
        assert_eq!(interfaces(), before, "{moment}");
    }
}

/// A feed, a route and a hazard take several things at once.
#[test]
fn feeds_routes_and_hazards_are_taken_away_on_request() {
    let folder = with_demo("meeting-room");
    if !is_allowed(folder.path()) {
        return;
    }
    let plan = folder.path().join("room.toml");
    let text = fs::read_to_string(&plan).expect("it is there");
    let cabinet = text.rfind("feeds = [\"mains-room\"]").expect("two places hang on one feed");
    let (before, after) = text.split_at(cabinet);
    let text = format!("{before}{}", after.replacen("mains-room", "mains-cabinet", 1));
    fs::write(&plan, text.replacen("takes = [\"copper\"]", "takes = [\"copper\"]\nshares = [\"floor\"]", 1)).expect("written");
    let items = ["feed:mains-room", "route:floor-duct", "hazard:floor"];
    let done = run(folder.path(), &[&["rehearse", "room.toml", "--json", "--only"][..], &items].concat());
    assert_eq!(done.code, 0, "{}\n{}", done.out, done.err);
    let told: serde_json::Value = serde_json::from_str(&done.out).expect("JSON");
    let steps = told["steps"].as_array().expect("a list");
    let without: Vec<&str> = steps.iter().filter_map(|step| step["without"].as_str()).collect();
    assert_eq!(without.iter().copied().collect::<BTreeSet<_>>(), BTreeSet::from(items));
    for step in steps {
        assert_eq!(step["agrees"], true, "{step}");
        assert!(step["gone_too"].as_array().is_some_and(|gone| !gone.is_empty()), "it takes something with it: {step}");
    }
    let wrong = run(folder.path(), &["rehearse", "room.toml", "--only", "stream:none"]);
    assert_eq!(wrong.code, 2, "{}", wrong.err);
}
