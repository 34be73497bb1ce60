//! The rehearsal itself: copies of the network, each with a thread that keeps its streams going and takes steps from one list.

use super::capture::Captures;
use super::keep::{Keep, name_of};
use super::rig::Rig;
use super::sockets::Sockets;
use super::{Trouble, probe};
use crate::blueprint::Blueprint;
use crate::cast::Cast;
use crate::limits;
use crate::message::PortState;
use crate::report::{Built, NotTried, Report, StepLine};
use crate::script::{Patience, Script, Step};
use crate::verdict::{OUTAGE_PACKETS, Observation, compare, judge};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// How long everything may take until it runs, at first and after each step. Own choice: the tree needs twice its forward delay,
/// after a loss of its root its max age too, members a question; three times that on a busy machine.
const SETTLE: Duration = Duration::from_secs(45);
/// Everything has to run for this long before a step. Own choice.
const STEADY: Duration = Duration::from_millis(600);
/// The same where members were asked for anew: longer than a member is believed without an answer (5 s with the rehearsal's timers),
/// so that all have answered since. With less, one that lived on from before ran out in the middle of the next step (seen once).
const STEADY_MEMBERS: Duration = Duration::from_millis(5_500);
/// Between two looks at the ports of bridges. Own choice.
const LOOK: Duration = Duration::from_millis(250);
/// How long the kernel may take to tell the far end of a cable that its link is gone. Own choice: it does so in the background,
/// at once on an idle machine.
const NOTICE: Duration = Duration::from_secs(20);
/// How long is captured while all is whole. Own choice: every stream and a membership question are in it.
const CAPTURED: Duration = Duration::from_secs(3);
/// The same of each failure, after the verdict. Own choice: every stream that is left is in it, and little else.
const CAPTURED_AFTER: Duration = Duration::from_secs(1);
/// Most copies at once. Own choice: more only take turns on a laptop's processor.
const MOST_COPIES: usize = 10;

/// How to rehearse.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Copies of the network that share the steps; `None` chooses.
    pub copies: Option<usize>,
    /// New folder for results and captures of every step; `None` keeps none.
    pub keep: Option<PathBuf>,
}

/// Where to tell how far it is.
pub trait Progress: Sync {
    /// A short line about what is being done.
    fn says(&self, line: &str);
}

/// Everything that is looked at; made by the pure parts.
#[derive(Clone, Copy)]
struct Work<'a> {
    blueprint: &'a Blueprint,
    cast: &'a Cast,
    script: &'a Script,
    period: Duration,
    keep: Option<&'a Keep>,
    /// The kernel builds one thing at a time anyway: copies take turns, so that the first can begin.
    building: &'a Mutex<()>,
}

/// What a copy tells.
enum News {
    Built(Duration),
    Intact { line: StepLine, tree: Vec<String> },
    Step { at: usize, line: StepLine },
    NotTried { at: usize, reason: String },
    Trouble(Trouble),
}

/// Builds the network once and lets it go again: how long building took.
///
/// **Errors**: the kernel refuses something.
pub fn build_time(blueprint: &Blueprint) -> Result<Duration, Trouble> {
    thread::scope(|scope| {
        let built = scope.spawn(|| Rig::build(blueprint).map(|rig| rig.built_in)).join();
        built.unwrap_or_else(|_| Err(Trouble::new("building failed", "")))
    })
}

/// Builds the network, confirms every stream, takes away what the script says, and compares.
///
/// **Errors**: the kernel refuses something, or frames circle.
pub fn rehearse(
    (blueprint, cast): (&Blueprint, &Cast),
    script: &Script,
    options: &Options,
    progress: &dyn Progress,
) -> Result<Report, Trouble> {
    let start = Instant::now();
    let files = probe::raise_file_limit();
    let copies = copies(blueprint, cast, script, files);
    let copies = options.copies.unwrap_or(copies).clamp(1, script.steps.len().max(1));
    let period = period(cast, copies);
    let keep = options.keep.as_deref().map(Keep::new).transpose()?;
    let building = Mutex::new(());
    let work = Work { blueprint, cast, script, period, keep: keep.as_ref(), building: &building };
    let todo = Mutex::new(order(blueprint, script));
    let mut report = Report { built: built(work, copies), ..Report::default() };
    report.cannot_check = limits::sentences(blueprint);
    report.notes = limits::notes(blueprint, cast, period);
    progress.says(&format!("building {} namespaces, {} times", blueprint.spaces.len(), copies));
    let (tell, hear) = channel();
    let outcome = thread::scope(|scope| {
        for copy in 0..copies {
            let (tell, todo) = (tell.clone(), &todo);
            scope.spawn(move || perform(work, todo, (copy, &tell)));
        }
        drop(tell);
        collect(&mut report, script, (&hear, &todo), progress)
    });
    outcome?;
    report.notes.extend(keep.iter().flat_map(Keep::says));
    for at in todo.into_inner().unwrap_or_else(PoisonError::into_inner) {
        report.not_tried.push(not_tried(&script.steps[at], "no copy of the network was left"));
    }
    report.agrees = report.intact.agrees && report.tree_differences.is_empty() && report.not_tried.is_empty();
    report.agrees &= report.steps.iter().all(|step| step.agrees);
    report.built.seconds = start.elapsed().as_secs();
    Ok(report)
}

fn built(work: Work<'_>, copies: usize) -> Built {
    Built {
        kernel: probe::kernel(),
        spaces: work.blueprint.spaces.len(),
        bridges: work.blueprint.bridges.len(),
        leads: work.blueprint.leads.len(),
        senders: work.cast.senders.len(),
        listeners: work.cast.listeners.len(),
        copies,
        network_ms: 0,
        packets_per_second: 1_000 / work.period.as_millis().max(1) as u64,
        seconds: 0,
    }
}

/// Longest steps first, so that the copies end together.
fn order(blueprint: &Blueprint, script: &Script) -> VecDeque<usize> {
    let mut order: Vec<usize> = (0..script.steps.len()).collect();
    let has_spare = !script.blocked.is_empty();
    order.sort_by_key(|at| std::cmp::Reverse(script.steps[*at].patience(blueprint, has_spare)));
    order.into()
}

/// How many copies the open files and the processor allow.
fn copies(blueprint: &Blueprint, cast: &Cast, script: &Script, files: u64) -> usize {
    let each = 2 * blueprint.spaces.len() + cast.senders.len() + cast.listeners.len() + 8;
    let by_files = (files as usize).saturating_sub(64) / each.max(1);
    // Own choice: a step of a small network is mostly waiting, one of a large network is mostly work.
    let by_work = 6_000 / (cast.senders.len() + cast.listeners.len()).max(1);
    by_files.min(by_work.max(2)).min(MOST_COPIES).min(script.steps.len()).max(1)
}

/// Time between two packets of a stream: short, but so that two cores can do it. Own choice, by what a laptop was seen to do.
fn period(cast: &Cast, copies: usize) -> Duration {
    let sockets = (cast.senders.len() * 3 + cast.listeners.len()) * copies;
    let fits = |millis: &&u64| sockets as u64 * 1_000 / **millis <= 130_000;
    Duration::from_millis(*[10, 20, 40, 50, 100].iter().find(fits).unwrap_or(&200))
}

fn not_tried(step: &Step, reason: &str) -> NotTried {
    NotTried { without: step.loss.to_string(), reason: reason.to_owned() }
}

/// Sorts in what the copies tell.
fn collect(
    report: &mut Report,
    script: &Script,
    (hear, todo): (&Receiver<News>, &Mutex<VecDeque<usize>>),
    progress: &dyn Progress,
) -> Result<(), Trouble> {
    let mut lines: BTreeMap<usize, StepLine> = BTreeMap::new();
    let (mut trouble, mut is_intact_told) = (None, false);
    for news in hear {
        match news {
            News::Built(time) => {
                let (time, quickest) = (time.as_millis() as u64, report.built.network_ms);
                report.built.network_ms = if quickest == 0 { time } else { quickest.min(time) };
            }
            News::Intact { line, tree } => {
                if !is_intact_told || !line.agrees || !tree.is_empty() {
                    report.tree_differences = tree;
                    report.intact = line;
                }
                is_intact_told = true;
                if !report.intact.agrees {
                    // Nothing can be said of a failure where the whole network is not as predicted.
                    let left = todo.lock().unwrap_or_else(PoisonError::into_inner).drain(..).collect::<Vec<_>>();
                    let reason = "the whole network is not as predicted";
                    report.not_tried.extend(left.into_iter().map(|at| not_tried(&script.steps[at], reason)));
                }
            }
            News::Step { at, line } => {
                let word = if line.agrees { "agrees" } else { "DIFFERS" };
                progress.says(&format!("{} of {}: {} {word}", lines.len() + 1, script.steps.len(), script.steps[at].loss));
                lines.insert(at, line);
            }
            News::NotTried { at, reason } => report.not_tried.push(not_tried(&script.steps[at], &reason)),
            News::Trouble(found) => {
                todo.lock().unwrap_or_else(PoisonError::into_inner).clear();
                trouble.get_or_insert(found);
            }
        }
    }
    report.steps = lines.into_values().collect();
    trouble.map_or(Ok(()), Err)
}

/// One copy's thread: builds, confirms, and takes steps until none is left.
fn perform(work: Work<'_>, todo: &Mutex<VecDeque<usize>>, (copy, tell): (usize, &Sender<News>)) {
    if let Err(trouble) = try_perform(work, todo, (copy, tell)) {
        let _ = tell.send(News::Trouble(trouble));
    }
}

fn try_perform(work: Work<'_>, todo: &Mutex<VecDeque<usize>>, (copy, tell): (usize, &Sender<News>)) -> Result<(), Trouble> {
    let turn = work.building.lock().unwrap_or_else(PoisonError::into_inner);
    let rig = Rig::build(work.blueprint)?;
    drop(turn);
    let _ = tell.send(News::Built(rig.built_in));
    let sockets = Sockets::open(work.blueprint, work.cast, &rig, work.period)?;
    let mut stage = Stage { work, rig, sockets, blocked: None };
    let is_steady = stage.settle(Patience::Tree)?;
    stage.sockets.start_over();
    stage.run_for(STEADY)?;
    let line = compare(work.cast, &work.script.intact, &stage.observation());
    let tree = stage.tree_differences()?;
    let agrees = line.agrees && is_steady;
    if copy == 0 {
        stage.keep(&line, CAPTURED)?;
    }
    if copy == 0 || !line.agrees || !tree.is_empty() {
        let _ = tell.send(News::Intact { line, tree });
    }
    if !agrees {
        return Ok(());
    }
    let next = || todo.lock().unwrap_or_else(PoisonError::into_inner).pop_front();
    while let Some(at) = next() {
        let news = match stage.try_step(&work.script.steps[at])? {
            Ok(line) => News::Step { at, line },
            Err(reason) => News::NotTried { at, reason },
        };
        let _ = tell.send(news);
        if todo.lock().unwrap_or_else(PoisonError::into_inner).is_empty() {
            return Ok(());
        }
        let patience = stage.patience(&work.script.steps[at]);
        if !stage.settle(patience)? {
            if let Some(at) = next() {
                let reason = "the network did not find back after the step before".to_owned();
                let _ = tell.send(News::NotTried { at, reason });
            }
            return Ok(());
        }
    }
    Ok(())
}

/// One copy at work.
struct Stage<'a> {
    work: Work<'a>,
    rig: Rig,
    sockets: Sockets,
    /// Ports that the kernel's tree shut when all was whole for the first time.
    blocked: Option<BTreeSet<(u32, usize)>>,
}

type Ports = BTreeMap<(u32, usize), PortState>;

fn shut(ports: &Ports) -> BTreeSet<(u32, usize)> {
    ports.iter().filter(|(_, port)| port.is_blocking()).map(|(key, _)| *key).collect()
}

impl Stage<'_> {
    fn ticks(&self, time: Duration) -> u32 {
        time.as_millis().div_ceil(self.work.period.as_millis().max(1)) as u32
    }

    fn patience(&self, step: &Step) -> Patience {
        let has_spare = self.blocked.as_ref().is_some_and(|blocked| !blocked.is_empty());
        step.patience(self.work.blueprint, has_spare)
    }

    fn run_for(&mut self, time: Duration) -> Result<(), Trouble> {
        for _ in 0..self.ticks(time) {
            self.sockets.tick()?;
        }
        Ok(())
    }

    /// Runs until every expected stream is heard and no tree is thinking; says whether it came to that. `patience` is that of what
    /// was put back.
    fn settle(&mut self, patience: Patience) -> Result<bool, Trouble> {
        let snoops = self.work.blueprint.bridges.iter().any(|bridge| bridge.is_snooping);
        let enough = self.ticks(if snoops && patience > Patience::Short { STEADY_MEMBERS } else { STEADY });
        let (mut steady, mut looked) = (0, 0);
        for tick in 0..self.ticks(SETTLE) {
            self.sockets.tick()?;
            if !self.is_as_expected() {
                steady = 0;
                continue;
            }
            steady += 1;
            if steady < enough || tick < looked {
                continue;
            }
            looked = tick + self.ticks(LOOK);
            let ports = self.rig.ports(self.work.blueprint)?;
            let is_awake = ports.values().all(|port| !port.is_waking());
            let is_as_before = self.blocked.as_ref().is_none_or(|before| *before == shut(&ports));
            if is_awake && is_as_before {
                self.blocked.get_or_insert(shut(&ports));
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn is_as_expected(&self) -> bool {
        let heard = &self.work.script.intact.heard;
        self.work.cast.listeners.iter().enumerate().all(|(at, listener)| !heard[listener.leg as usize] || self.sockets.hears_now(at))
    }

    fn observation(&self) -> Observation {
        Observation { hearing: self.sockets.hearing(), period_ms: self.work.period.as_millis() as u64, noticed_ms: 0 }
    }

    /// Ports that the kernel's tree shut and the prediction does not, and the reverse.
    fn tree_differences(&mut self) -> Result<Vec<String>, Trouble> {
        let (seen, expected) = (shut(&self.rig.ports(self.work.blueprint)?), &self.work.script.blocked);
        let name = |(lead, end): (u32, usize)| {
            let lead = &self.work.blueprint.leads[lead as usize];
            let space = &self.work.blueprint.spaces[lead.ends[end].space as usize];
            format!("cable {} at {space}", self.work.blueprint.cables[lead.cable.0 as usize])
        };
        let surplus = seen.difference(expected).map(|key| format!("The kernel shuts {}; the plan expects it open.", name(*key)));
        let lacking = expected.difference(&seen).map(|key| format!("The plan expects {} shut; the kernel leaves it open.", name(*key)));
        Ok(surplus.chain(lacking).collect())
    }

    /// Keeps a step's result, and captures for so long what runs between boxes now; nothing where nothing is to be kept.
    fn keep(&mut self, line: &StepLine, time: Duration) -> Result<(), Trouble> {
        let Some(keep) = self.work.keep else { return Ok(()) };
        keep.result(line)?;
        let mut captures = Captures::open(self.work.blueprint, &self.rig)?;
        for _ in 0..self.ticks(time) {
            self.sockets.tick()?;
            captures.take();
        }
        keep.captures(&name_of(line), &captures.files())
    }

    /// Takes one step: away, watch, judge, back. Without a line, the reason why it cannot be judged.
    fn try_step(&mut self, step: &Step) -> Result<Result<StepLine, String>, Trouble> {
        let patience = self.patience(step);
        self.sockets.start_over();
        self.rig.take_away(self.work.blueprint, step)?;
        let (noticed, wrong) = self.wait_until_taken(step)?;
        // Silence is packets that do not come: a few have to be due.
        let shortest = self.work.period * 2 * OUTAGE_PACKETS;
        self.run_for(Duration::from_millis(patience.time().picoseconds() / 1_000_000_000).max(shortest))?;
        let seen = Observation { noticed_ms: noticed.as_millis() as u64, ..self.observation() };
        let line = judge(self.work.cast, step, &seen);
        if wrong.is_none() {
            self.keep(&line, CAPTURED_AFTER)?;
        }
        self.rig.put_back(self.work.blueprint, step)?;
        Ok(wrong.map_or(Ok(line), Err))
    }

    /// Runs until the kernel has really done what the step takes away: how long that took, and what is wrong if it never did.
    fn wait_until_taken(&mut self, step: &Step) -> Result<(Duration, Option<String>), Trouble> {
        let start = Instant::now();
        loop {
            let wrong = self.not_as_taken(step)?;
            if wrong.is_none() || start.elapsed() > NOTICE {
                return Ok((start.elapsed(), wrong));
            }
            self.run_for(LOOK)?;
        }
    }

    /// Whether the kernel really did what the step takes away: links of cut cables gone at every bridge, links of a frozen
    /// switch still there.
    fn not_as_taken(&mut self, step: &Step) -> Result<Option<String>, Trouble> {
        let ports = self.rig.ports(self.work.blueprint)?;
        let wrong = (0u32..).zip(&self.work.blueprint.leads).find_map(|(at, lead)| {
            let is_cut = step.cut.contains(&at);
            let ends = lead.ends.iter().enumerate();
            let mut bridged = ends.filter(|(_, end)| end.bridge.is_some_and(|bridge| !step.frozen.contains(&bridge)));
            let odd = bridged.any(|(n, _)| ports.get(&(at, n)).is_some_and(|port| port.has_link == is_cut));
            odd.then(|| self.work.blueprint.cables[lead.cable.0 as usize].to_string())
        });
        Ok(wrong.map(|cable| format!("the kernel did not do as told: the link of {cable} is not as it should be")))
    }
}
