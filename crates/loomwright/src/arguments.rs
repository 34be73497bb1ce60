//! What can be written after `loomwright`.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::net::IpAddr;
use std::path::PathBuf;

/// Plans, proves, documents and commissions audio-over-IP networks.
///
/// A plan is a file NAME.toml, or a folder that holds one; its wiring NAME.wiring.toml lies beside it.
/// Data goes to standard output, talk to standard error.
#[derive(Debug, Parser)]
#[command(name = "loomwright", version, max_term_width = 100, after_help = EXIT_CODES)]
pub struct Arguments {
    /// What to do; without it, the pages open on a copy of the demo.
    #[command(subcommand)]
    pub command: Option<Command>,
}

impl Arguments {
    /// Whether data is wanted as JSON; then a failure is told as JSON too.
    pub fn wants_json(&self) -> bool {
        match &self.command {
            Some(Command::Import(import)) => import.json,
            Some(Command::Design(design)) => design.json,
            Some(Command::Options(options)) => options.json,
            Some(Command::Check(check)) => check.json,
            Some(Command::Whatif(whatif)) => whatif.json,
            Some(Command::Suspect(suspect)) => suspect.json,
            Some(Command::Compare(compare)) => compare.json,
            Some(Command::Listen(listen)) => listen.json,
            Some(Command::Rehearse(rehearse)) => rehearse.json,
            Some(Command::Sheets(sheets)) => sheets.json,
            Some(Command::Diff(diff)) => diff.json,
            Some(Command::Explain(explain)) => explain.json,
            Some(Command::Open(_) | Command::New(_) | Command::Completions(_) | Command::Man(_)) | None => false,
        }
    }
}

const EXIT_CODES: &str = "\
Exit code: 0 ready, or done; 1 something stops the show, or part of the input was refused; 2 could not read or do it.
Without a command, the pages open on a fresh copy of the demo.
It plans and checks, it does not certify: the responsible engineer signs.";

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Serve the pages of a plan to browsers; without a plan, on a fresh copy of the demo
    Open(Open),
    /// Start a plan: a small commented one that reads without error
    New(New),
    /// Take a gear list (CSV, XLSX or ODS) into a plan, saying row by row what could not be read
    Import(Import),
    /// Decide the wiring and write it beside the plan, keeping what is plugged in already
    Design(Design),
    /// Show designs side by side: wired, proved and priced
    Options(Options),
    /// Prove the wiring: load, delay, clock, power, lengths, loops, and every failure
    Check(Check),
    /// Take items away and see what falls silent
    Whatif(Whatif),
    /// Find the fault: say what is silent and what is heard, get suspects and the next best test
    Suspect(Suspect),
    /// Compare the plan with what was seen: captures, neighbour tables, walks, counts and notes
    Compare(Compare),
    /// Listen to the wire and compare it with the plan; sends nothing unless asked to
    Listen(Box<Listen>),
    /// Build the network on this Linux machine, take everything away once, compare with the prediction
    Rehearse(Rehearse),
    /// Write the documents for the crew
    Sheets(Sheets),
    /// Say what to re-patch between two revisions
    Diff(Diff),
    /// Explain a finding, with its reason and source; without a code, list them all
    Explain(Explain),
    /// Print the completions of a shell
    #[command(hide = true)]
    Completions(Completions),
    /// Write the manual pages into a folder
    #[command(hide = true)]
    Man(Man),
}

/// Arguments of `open`.
#[derive(Debug, Args)]
pub struct Open {
    /// The plan; without it, a fresh copy of the demo
    pub plan: Option<PathBuf>,
    /// Port to listen on; 0 takes any free one
    #[arg(long, value_name = "N", default_value_t = crate::commands::PORT)]
    pub port: u16,
    /// Do not start a browser, only say the address
    #[arg(long)]
    pub no_browser: bool,
    /// Let phones of the crew in, at one address of this machine on the show's own network: they read, tick and note behind a link and a
    /// PIN, and never change the plan. Without ADDRESS, the one by which this machine reaches others
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, require_equals = true)]
    pub crew: Option<Option<IpAddr>>,
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct New {
    /// The file to write; `.toml` is added where it is missing
    pub path: PathBuf,
    /// What the plan is for; else the name of the file
    #[arg(long)]
    pub name: Option<String>,
    /// Copy a built-in demo instead: playhouse, meeting-room or campus (2,000 devices), or one of these with
    /// planted faults, as `playhouse-faults`
    #[arg(long, value_name = "DEMO", conflicts_with = "name")]
    pub demo: Option<String>,
}

/// Arguments of `import`.
#[derive(Debug, Args)]
pub struct Import {
    /// The gear list: CSV, XLSX or ODS
    pub list: PathBuf,
    /// The plan that takes it in; without it, the new plan is printed
    #[arg(long, value_name = "PLAN")]
    pub into: Option<PathBuf>,
    /// Also make the places that the list names and the plan does not
    #[arg(long)]
    pub create_places: bool,
    /// Say what would be done, and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `design`.
#[derive(Debug, Args)]
pub struct Design {
    /// The plan
    pub plan: PathBuf,
    /// Say what would be decided, and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Decide everything anew; only what is held stays
    #[arg(long)]
    pub afresh: bool,
    /// Print what to re-patch, in a safe order, and the way back
    #[arg(long)]
    pub repatch: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `options`.
#[derive(Debug, Args)]
pub struct Options {
    /// The plan
    pub plan: PathBuf,
    /// Write the wiring of this one beside the plan, for example `two-networks`
    #[arg(long, value_name = "NAME")]
    pub write: Option<String>,
    /// Also say what it would cost to survive any two failures
    #[arg(long)]
    pub any_two: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    /// The plan
    #[arg(required_unless_present = "schema")]
    pub plan: Option<PathBuf>,
    /// Print the whole proof as JSON
    #[arg(long)]
    pub json: bool,
    /// Show where each microsecond of one stream goes, hop by hop
    #[arg(long, value_name = "ID")]
    pub stream: Option<String>,
    /// Show what every single failure does
    #[arg(long, conflicts_with = "stream")]
    pub failures: bool,
    /// Show what the delays ask for: receiver settings in step, whole ways of sound, memory of switches
    #[arg(long, conflicts_with_all = ["stream", "failures"])]
    pub buffers: bool,
    /// Print the JSON Schema of what `--json` prints
    #[arg(long, exclusive = true)]
    pub schema: bool,
}

/// Arguments of `whatif`.
#[derive(Debug, Args)]
pub struct Whatif {
    /// The plan
    pub plan: PathBuf,
    /// What to take away: `cable:A-001`, `switch:sw-a`, `device:box-sl`, `feed:ups-1`, `route:trench`, `hazard:loft`,
    /// or the bare name where only one thing has it
    #[arg(required = true, value_name = "ITEM")]
    pub items: Vec<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `suspect`.
#[derive(Debug, Args)]
pub struct Suspect {
    /// The plan
    pub plan: PathBuf,
    /// Silent: a stream at all its receivers (`main`), at one (`main@amp-3`), or over one network (`main@amp-3/a`)
    #[arg(long, value_name = "STREAM", num_args = 1..)]
    pub silent: Vec<String>,
    /// Heard, written the same way
    #[arg(long, value_name = "STREAM", num_args = 1..)]
    pub heard: Vec<String>,
    /// Cables whose link lights are dark
    #[arg(long, value_name = "CABLE", num_args = 1..)]
    pub dark: Vec<String>,
    /// Cables whose link lights are lit at both ends
    #[arg(long, value_name = "CABLE", num_args = 1..)]
    pub lit: Vec<String>,
    /// Devices and switches that are off
    #[arg(long, value_name = "NAME", num_args = 1..)]
    pub off: Vec<String>,
    /// Devices and switches that are on
    #[arg(long, value_name = "NAME", num_args = 1..)]
    pub on: Vec<String>,
    /// Cables that were replaced, and then it played
    #[arg(long, value_name = "CABLE", num_args = 1..)]
    pub cured: Vec<String>,
    /// Cables that were replaced, and nothing changed
    #[arg(long, value_name = "CABLE", num_args = 1..)]
    pub sound: Vec<String>,
    /// The place where you stand: near tests come first
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub struct Compare {
    /// The plan
    pub plan: PathBuf,
    /// Files, or folders with files, of what was seen; name a file after the box it comes from, as `lldp_sw1.json`
    #[arg(required = true)]
    pub evidence: Vec<PathBuf>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `listen`.
#[derive(Debug, Args)]
pub struct Listen {
    /// The plan
    pub plan: PathBuf,
    /// The interface to listen on
    #[arg(long, value_name = "IFACE")]
    pub on: String,
    /// End after so many seconds; without it, Ctrl-C ends it
    #[arg(long = "for", value_name = "SECONDS")]
    pub seconds: Option<u64>,
    /// Where the interface is plugged in: a device or switch of the plan, with its port, as `sw-a/23`
    #[arg(long, value_name = "BOX/PORT")]
    pub at: Option<String>,
    /// The network that is heard; else the one whose range holds the interface's address
    #[arg(long, value_name = "NETWORK", conflicts_with = "at")]
    pub network: Option<String>,
    /// Also write every frame into this new capture file
    #[arg(long, value_name = "FILE.pcap")]
    pub keep: Option<PathBuf>,
    /// Also serve the pages of the plan on this machine, with what is heard as it comes in (Line check, Seen on the network)
    #[arg(long, value_name = "PORT", num_args = 0..=1, require_equals = true)]
    pub pages: Option<Option<u16>>,
    /// Ask switches for the groups of these streams, of the `clock`, of stream `announcements`, or of `all`
    #[arg(long, value_name = "STREAM", num_args = 1..)]
    pub join: Vec<String>,
    /// Ask who has each planned address
    #[arg(long)]
    pub ask_addresses: bool,
    /// Ask once which DHCP servers there are; no offer is taken. Listen for 8 s at least: servers answer late
    #[arg(long)]
    pub ask_dhcp: bool,
    /// Read the tables of these planned switches by SNMP, or of `all`
    #[arg(long, value_name = "SWITCH", num_args = 1..)]
    pub poll: Vec<String>,
    /// Community of SNMP version 2c
    #[arg(long, value_name = "NAME", default_value = "public")]
    pub community: String,
    /// User of SNMP version 3, in place of a community; its passwords come from the environment variables
    /// LOOMWRIGHT_SNMP_AUTH and LOOMWRIGHT_SNMP_PRIV
    #[arg(long, value_name = "NAME")]
    pub snmp_user: Option<String>,
    /// What signs the user's questions
    #[arg(long, value_name = "KIND", default_value = "sha", requires = "snmp_user")]
    pub snmp_auth: Auth,
    /// What encrypts them
    #[arg(long, value_name = "KIND", default_value = "aes", requires = "snmp_user")]
    pub snmp_priv: Privacy,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// What signs questions of SNMP version 3.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Auth {
    /// HMAC-MD5-96
    Md5,
    /// HMAC-SHA-96
    Sha,
    /// HMAC-192-SHA-256
    Sha256,
    /// HMAC-384-SHA-512
    Sha512,
}

/// What encrypts questions of SNMP version 3.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Privacy {
    /// Nothing
    None,
    /// CBC-DES
    Des,
    /// CFB128-AES-128
    Aes,
}

/// Arguments of `rehearse`.
#[derive(Debug, Args)]
#[command(after_help = REHEARSE)]
pub struct Rehearse {
    /// The plan
    pub plan: PathBuf,
    /// Take away only these, as `cable:A-001`, `switch:sw-a`, `device:box-sl`, `feed:ups-1`, `route:trench`, `hazard:loft`, or
    /// the bare name where only one thing has it; without it, every cable, switch and device
    #[arg(long, value_name = "ITEM", num_args = 1..)]
    pub only: Vec<String>,
    /// Write into this new folder the result of every step (results/), and captures of what runs between boxes: of the whole network
    /// and after each failure, up to 1 GB in all
    #[arg(long, value_name = "FOLDER")]
    pub keep: Option<PathBuf>,
    /// How many copies of the network share the work; without it, as many as this machine carries
    #[arg(long, value_name = "N")]
    pub copies: Option<usize>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

const REHEARSE: &str = "\
Everything happens in network namespaces of this process: no interface of this machine is touched, no packet leaves it, and
nothing stays when it ends or is killed. It needs root, or a system that allows user namespaces.
Exit code: 0 all went as predicted; 1 something went otherwise or could not be tried; 2 could not be done here.";

/// A kind of document file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// Documents to print
    Pdf,
    /// Labels for cables and ports
    Labels,
    /// What to do when something fails, one page for the door of each rack
    Cards,
    /// Workbook of all schedules
    Xlsx,
    /// One table per file
    Csv,
    /// Drawings
    Svg,
}

/// Arguments of `sheets`.
#[derive(Debug, Args)]
pub struct Sheets {
    /// The plan
    pub plan: PathBuf,
    /// The folder to write into; it is made where it is missing
    #[arg(long, value_name = "DIR")]
    pub to: PathBuf,
    /// Only these kinds
    #[arg(long, value_name = "KIND", value_delimiter = ',')]
    pub only: Vec<Kind>,
    /// Put before each cable's name in the QR codes, so that a phone opens the cable's page, as `http://192.168.1.20:8750/c/`
    #[arg(long, value_name = "PREFIX", default_value = "")]
    pub link: String,
    /// Print the list of files as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `diff`.
#[derive(Debug, Args)]
pub struct Diff {
    /// The plan as it was
    pub old: PathBuf,
    /// The plan as it is now
    pub new: PathBuf,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct Explain {
    /// The code of a finding, for example `wiring/loop`; without it, all codes are listed
    pub code: Option<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub struct Completions {
    /// The shell
    pub shell: clap_complete::Shell,
}

/// Arguments of `man`.
#[derive(Debug, Args)]
pub struct Man {
    /// The folder to write into
    pub folder: PathBuf,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn arguments_are_consistent() {
        Arguments::command().debug_assert();
    }
}
