//! The first page: verdict, findings, key figures, changes, signature.

use super::{A4, BAND, FAINT, INK, Look, Mark, PLAIN, Page, STRONG};
use crate::cautions;
use crate::tables::Source;
use loomwright_drawing::Typeface;
use loomwright_drawing::geometry::Area;
use loomwright_drawing::scene::{microseconds, per_cent};
use loomwright_model::{Length, Medium, Power};
use loomwright_proof::report::FindingLine;

const BIG: Look = Look { face: Typeface::CondensedBold, size: 24.0, tint: INK };
const HEAD: Look = Look { face: Typeface::CondensedBold, size: 11.0, tint: INK };
/// Width of the right-hand column.
const RIGHT_W: f64 = 300.0;
/// Height of change block and signature.
const SIGN_H: f64 = 118.0;

/// The cover.
pub(crate) fn page(source: &Source<'_>) -> Page {
    let has_life_safety = source.scene.plan.streams.values().any(|stream| stream.life_safety);
    let mut words = vec![cautions::MAINS, cautions::SOUND, cautions::HEIGHT, cautions::TRIP, cautions::FIBRE, cautions::POE];
    if has_life_safety {
        words.push(cautions::LIFE_SAFETY);
    }
    let mut page = Page::new(A4, "Verdict", &words);
    let body = page.body();
    let top = draw_name(&mut page, source, body);
    let top = draw_verdict(&mut page, source, (body, top));
    let left = Area::new(body.x, top, body.w - RIGHT_W - 24.0, body.bottom() - SIGN_H - top);
    let right = Area::new(body.right() - RIGHT_W, top, RIGHT_W, left.h);
    draw_findings(&mut page, source, left);
    draw_figures(&mut page, source, right);
    draw_changes(&mut page, source, body);
    page
}

fn draw_name(page: &mut Page, source: &Source<'_>, body: Area) -> f64 {
    let about = &source.scene.plan.about;
    let mut y = body.y + 20.0;
    for line in BIG.wrap(&about.name, body.w).into_iter().take(2) {
        page.text((body.x, y), line, BIG);
        y += BIG.leading();
    }
    let parts = [
        (!about.revision.is_empty()).then(|| format!("Revision {}", about.revision)),
        about.date.clone(),
        about.by.as_ref().map(|by| format!("by {by}")),
    ];
    let line: Vec<String> = parts.into_iter().flatten().collect();
    page.text((body.x, y - 10.0), line.join("  \u{b7}  "), FAINT.sized(10.5));
    y += 4.0;
    if let Some(note) = &about.note {
        y = page.paragraph((body.x, y, body.w), note, PLAIN);
    }
    y
}

fn draw_verdict(page: &mut Page, source: &Source<'_>, (body, top): (Area, f64)) -> f64 {
    let report = source.scene.report;
    let verdict = if report.verdict.is_empty() { "Not proved yet." } else { &report.verdict };
    let look = Look { face: Typeface::CondensedBold, size: 15.0, tint: INK };
    let lines = look.wrap(verdict, body.w - 40.0);
    let height = 20.0 + look.leading() * lines.len() as f64;
    let area = Area::new(body.x, top, body.w, height);
    page.marks.push(Mark::Fill { area, tint: BAND });
    page.marks.push(Mark::Fill { area: Area::new(body.x, top, 7.0, height), tint: INK });
    let mut y = top + 24.0;
    for line in lines {
        page.text((body.x + 22.0, y), line, look);
        y += look.leading();
    }
    top + height + 24.0
}

fn draw_findings(page: &mut Page, source: &Source<'_>, area: Area) {
    let findings = &source.scene.report.findings;
    page.text((area.x, area.y), "Findings by harm", HEAD);
    let mut y = area.y + 18.0;
    let mut left = findings.len();
    for (severity, head) in [("stop", "Stops the show"), ("warn", "Warning"), ("note", "Note")] {
        let all: Vec<&FindingLine> = findings.iter().filter(|finding| finding.severity == severity).collect();
        for finding in all {
            let lines = PLAIN.sized(9.0).wrap(&finding.says, area.w - 98.0);
            let todo = FAINT.sized(9.0).wrap(&finding.remedy, area.w - 98.0);
            let height = 11.5 * (lines.len() + todo.len()) as f64 + 6.0;
            if y + height > area.bottom() - 14.0 {
                page.text((area.x, area.bottom() - 8.0), format!("and {left} more on the sheet Findings"), PLAIN);
                return;
            }
            page.text((area.x, y), head, STRONG);
            y = draw_finding(page, (area.x + 98.0, y), (lines, todo));
            left -= 1;
        }
    }
    if findings.is_empty() {
        page.text((area.x, y), "None.", PLAIN.sized(9.0));
    }
}

fn draw_finding(page: &mut Page, (x, y): (f64, f64), (lines, todo): (Vec<String>, Vec<String>)) -> f64 {
    let mut y = y;
    for line in lines {
        page.text((x, y), line, PLAIN.sized(9.0));
        y += 11.5;
    }
    for line in todo {
        page.text((x, y), line, FAINT.sized(9.0));
        y += 11.5;
    }
    y + 6.0
}

fn draw_figures(page: &mut Page, source: &Source<'_>, area: Area) {
    page.text((area.x, area.y), "Key figures", HEAD);
    let mut y = area.y + 18.0;
    for (what, value) in figures(source) {
        if y > area.bottom() - 4.0 {
            return;
        }
        let room = area.w - PLAIN.sized(9.0).width(&what) - 12.0;
        page.text((area.x, y), what, PLAIN.sized(9.0));
        page.text_end((area.right(), y), &STRONG.face.fit(&value, NAME_SIZE, room), STRONG);
        page.hair((area.x, y + 4.5), (area.right(), y + 4.5));
        y += 16.0;
    }
}

const NAME_SIZE: f64 = super::NAME;

fn figures(source: &Source<'_>) -> Vec<(String, String)> {
    let (plan, wiring, report) = (source.scene.plan, source.scene.wiring, source.scene.report);
    let metres = |medium| wiring.cables.values().filter(|cable| cable.medium == medium).map(|cable| cable.length).sum::<Length>();
    let counted = |medium| wiring.cables.values().filter(|cable| cable.medium == medium).count();
    let mut all = vec![
        ("Devices, switches".to_owned(), format!("{}, {}", plan.devices.len(), wiring.switches.len())),
        ("Streams".to_owned(), plan.streams.len().to_string()),
    ];
    for (word, medium) in [("copper", Medium::Copper), ("fibre", Medium::Fibre)].into_iter().filter(|(_, medium)| counted(*medium) > 0) {
        all.push((format!("Cables of {word}"), format!("{}, {}", counted(medium), metres(medium))));
    }
    let worst = report.streams.iter().filter_map(|line| line.delay.as_ref()).map(|delay| delay.worst_ns).max();
    all.extend(worst.map(|worst| ("Worst delay, allowed".to_owned(), format!("{}, {}", microseconds(worst), plan.targets.network_delay))));
    let busiest = report.links.iter().map(|link| link.load_bps as f64 / link.speed_bps.max(1) as f64).reduce(f64::max);
    all.extend(busiest.map(|load| ("Busiest cable, allowed".to_owned(), format!("{}, {}", per_cent(load), plan.targets.link_load))));
    if !report.failures.is_empty() {
        let silent = report.failures.iter().filter(|line| !line.silent.is_empty()).count();
        all.push(("Single failures tried, with silence".to_owned(), format!("{}, {silent}", report.failures.len())));
    }
    all.extend(report.availability.essential.map(|up| ("Essential streams up".to_owned(), format!("{:.4} %", up * 100.0))));
    let draw: u64 = report.power.iter().map(|line| line.draw_mw).sum();
    if draw > 0 {
        all.push(("Draw of all feeds".to_owned(), Power::from_milliwatts(draw).to_string()));
    }
    let leader = wiring.clock.leader.as_ref().map(ToString::to_string);
    let backup = wiring.clock.backup.as_ref().map_or("none".to_owned(), ToString::to_string);
    all.extend(leader.map(|leader| ("Clock leader, backup".to_owned(), format!("{leader}, {backup}"))));
    all
}

fn draw_changes(page: &mut Page, source: &Source<'_>, body: Area) {
    let top = body.bottom() - SIGN_H + 16.0;
    let about = &source.scene.plan.about;
    page.text((body.x, top), "Changes", HEAD);
    let width = body.w - RIGHT_W - 24.0;
    let columns = [("Revision", 0.0), ("Date", 0.13), ("By", 0.29), ("What changed", 0.48), ("Checked", 0.86)];
    for (head, at) in columns {
        page.text((body.x + width * at, top + 16.0), head, FAINT);
    }
    let filled = [&about.revision, &about.date.clone().unwrap_or_default(), &about.by.clone().unwrap_or_default()];
    for (n, (value, (_, at))) in filled.into_iter().zip(columns).enumerate() {
        let room = width * (columns[n + 1].1 - at) - 4.0;
        page.text((body.x + width * at, top + 34.0), PLAIN.face.fit(value, PLAIN.size, room).into_owned(), PLAIN);
    }
    for n in 0..4 {
        let y = top + 21.0 + 18.5 * f64::from(n);
        page.hair((body.x, y), (body.x + width, y));
    }
    let x = body.right() - RIGHT_W;
    page.text((x, top), "The responsible engineer signs", HEAD);
    for (n, word) in ["Name", "Signature", "Date"].into_iter().enumerate() {
        let y = top + 27.0 + 24.0 * n as f64;
        page.text((x, y), word, FAINT);
        page.rule((x + 56.0, y + 2.0), (body.right(), y + 2.0), 0.6);
    }
}
