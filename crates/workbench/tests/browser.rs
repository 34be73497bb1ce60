//! The pages in a real browser, wide and on a phone. Skipped with a printed reason where there is none.
#![allow(clippy::disallowed_methods, reason = "these tests start programs and write files")]

#[path = "browser/driver.rs"]
mod driver;

use driver::{Stage, Window};
use fantoccini::Locator;
use fantoccini::key::Key;
use std::time::{Duration, Instant};

const PAGES: &[&str] = &[
    "/",
    "/drawing",
    "/drawing?view=floor&layers=networks,load,delay",
    "/drawing?view=panel",
    "/drawing?without=cable:A-002",
    "/gear",
    "/gear/places",
    "/gear/routes",
    "/gear/streams",
    "/gear/import",
    "/design?reasons=1",
    "/design/options?any-two=1",
    "/design/cables",
    "/proof",
    "/proof/streams",
    "/proof/streams?stream=mics",
    "/proof/replay?stream=mics&to=desk&network=a",
    "/proof/listening",
    "/proof/failures",
    "/proof/failures?item=switch:sw-a",
    "/proof/failures?item=cable:A-001",
    "/drawing?view=riser&layers=networks,hang",
    "/proof/links",
    "/addresses",
    "/addresses/run",
    "/sheets",
    "/trouble?bad=heard:mics",
    "/linecheck",
    "/linecheck?place=foh",
    "/linecheck/seen",
    "/linecheck/record",
    "/c/A-001",
    "/drawing?view=riser&layers=networks,linecheck",
];

#[tokio::test(flavor = "multi_thread")]
async fn the_pages_work_in_a_browser() {
    let Some(stage) = Stage::set().await else {
        println!("skipped: chromedriver or chromium is not here");
        return;
    };
    let wide = stage.window(Window::Wide).await;
    let phone = stage.window(Window::Phone).await;
    for window in [&wide, &phone] {
        for &path in PAGES {
            window.open(path).await;
            let width = window.number("document.documentElement.scrollWidth - window.innerWidth").await;
            assert!(width <= 0, "{path} is {width} px too wide in {:?}", window.kind);
            let current = window.number("document.querySelectorAll('body > nav a[aria-current=page]').length").await;
            assert_eq!(current, 1, "{path}");
        }
    }
    small_targets(&phone).await;
    keyboard_edit(&stage, &wide, &phone).await;
    error_beside_the_cell(&stage, &wide).await;
    paste_block(&stage, &wide).await;
    outside_edit(&stage, &wide).await;
    take_away(&wide).await;
    slider(&wide).await;
    slider(&phone).await;
    hanging(&wide).await;
    worst_moment(&wide).await;
    worst_moment(&phone).await;
    one_tap(&stage, &wide, &phone).await;
    dead_spot(&stage, &phone).await;
    evidence(&wide).await;
    big_targets(&phone).await;
    opens_again(&stage).await;
    without_script(&stage).await;
    line_check_without_script(&stage).await;
    for window in [&wide, &phone] {
        assert_eq!(window.complaints().await, Vec::<String>::new());
    }
    wide.close().await;
    phone.close().await;
}

/// What fingers must hit is at least 24 px each way. **Source**: WCAG 2.2 success criterion 2.5.8.
async fn small_targets(phone: &driver::Open) {
    for path in ["/", "/gear", "/drawing", "/sheets"] {
        phone.open(path).await;
        let script = "[...document.querySelectorAll('button, select, .button, body > nav a, .tabs a')].filter(e => { const r = e.getBoundingClientRect(); return r.width > 0 && (r.width < 24 || r.height < 24); }).length";
        assert_eq!(phone.number(script).await, 0, "{path}");
    }
}

/// Types into a cell with the keyboard alone; the phone sees it within a second.
async fn keyboard_edit(stage: &Stage, wide: &driver::Open, phone: &driver::Open) {
    wide.open("/gear").await;
    phone.open("/gear").await;
    let cell = wide.find("#cell-device-stage-box-title input").await;
    cell.click().await.expect("focused");
    cell.send_keys("Left box").await.expect("typed");
    cell.send_keys(&char::from(Key::Enter).to_string()).await.expect("kept");
    let below = wide.text("document.activeElement.closest('td').id").await;
    assert_eq!(below, "cell-device-desk-title", "Enter goes down");
    let start = Instant::now();
    phone.wait_until("document.querySelector('#cell-device-stage-box-title input').value === 'Left box'").await;
    assert!(start.elapsed() < Duration::from_secs(1), "the other browser took {:?}", start.elapsed());
    assert!(stage.on_disk().contains("title = \"Left box\""));
    let active = wide.text("document.activeElement.closest('td').id").await;
    assert_eq!(active, "cell-device-desk-title", "focus stays through the swap");
    wide.press("ArrowRight").await;
    assert_eq!(wide.text("document.activeElement.name").await, "gear");
    wide.press("ArrowLeft").await;
    let undo = wide.find("form[action='/undo'] button").await;
    undo.click().await.expect("undone");
    phone.wait_until("document.querySelector('#cell-device-stage-box-title input').value === ''").await;
    assert!(!stage.on_disk().contains("Left box"));
}

async fn error_beside_the_cell(stage: &Stage, wide: &driver::Open) {
    wide.open("/gear/routes").await;
    let before = stage.on_disk();
    let cell = wide.find("#cell-route-left-length input").await;
    wide.run("document.querySelector('#cell-route-left-length input').focus()").await;
    cell.send_keys("30").await.expect("typed");
    cell.send_keys(&char::from(Key::Enter).to_string()).await.expect("kept");
    wide.wait_until("document.querySelector('#cell-route-left-length .refusal') !== null").await;
    let words = wide.text("document.querySelector('#cell-route-left-length .refusal').textContent").await;
    assert!(words.contains("24 m"), "the words say what is expected: {words}");
    assert_eq!(stage.on_disk(), before);
    let other = wide.find("#cell-route-right-length input").await;
    wide.run("document.querySelector('#cell-route-right-length input').focus()").await;
    other.send_keys("35 m").await.expect("typed");
    other.send_keys(&char::from(Key::Enter).to_string()).await.expect("kept");
    wide.wait_until("document.querySelector('#cell-route-right-length input').defaultValue === '35 m'").await;
    let kept = wide.text("document.querySelector('#cell-route-left-length input').value").await;
    assert_eq!(kept, "30", "a value that was refused stays until it is put right");
    assert!(wide.number("document.querySelectorAll('#cell-route-left-length .refusal').length").await == 1);
}

/// Pastes two rows and two columns from a spreadsheet into a cell: one edit, undone at once.
async fn paste_block(stage: &Stage, wide: &driver::Open) {
    wide.open("/gear").await;
    let before = stage.on_disk();
    let paste = "const data = new DataTransfer(); data.setData('text/plain', 'Box title\\tbox\\nDesk title\\tbox\\n'); \
                 const cell = document.querySelector('#cell-device-stage-box-title input'); cell.focus(); \
                 cell.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }))";
    wide.run(paste).await;
    wide.wait_until("document.querySelector('#cell-device-desk-title input').value === 'Desk title'").await;
    assert!(stage.on_disk().contains("title = \"Box title\"") && stage.on_disk().contains("title = \"Desk title\""));
    wide.find("form[action='/undo'] button").await.click().await.expect("undone");
    wide.wait_until("document.querySelector('#cell-device-desk-title input').value === ''").await;
    assert_eq!(stage.on_disk(), before);
}

async fn outside_edit(stage: &Stage, wide: &driver::Open) {
    wide.open("/").await;
    stage.write(&stage.on_disk().replace("Demo hall", "Renamed outside"));
    let start = Instant::now();
    wide.wait_until("document.querySelector('#state strong').textContent === 'Renamed outside'").await;
    assert!(start.elapsed() < Duration::from_secs(2), "an outside edit took {:?}", start.elapsed());
}

/// Taps a cable in the drawing: it is crossed out, the address can be shared, and the sheet says what happens.
async fn take_away(wide: &driver::Open) {
    wide.open("/drawing?view=panel&of=network:a").await;
    let tap = "document.querySelector('#canvas [data-item=\"cable:A-002\"]').dispatchEvent(new MouseEvent('click', { bubbles: true }))";
    wide.run(tap).await;
    wide.wait_until("location.search.includes('without=cable:A-002')").await;
    wide.wait_until("document.querySelector('#side h2').textContent === 'Without'").await;
    assert!(wide.number("document.querySelectorAll('#canvas .gone').length").await > 0, "the cable is crossed out");
    let says = wide.text("document.querySelector('#side .tally').textContent").await;
    assert!(says.contains("Nothing falls silent"), "network B carries on: {says}");
    wide.open("/drawing?view=panel&of=network:a&without=cable:A-002,cable:B-001").await;
    let says = wide.text("document.querySelector('#side .tally').textContent").await;
    assert!(says.contains("silent") && !says.contains("Nothing"), "both legs are cut: {says}");
    assert!(wide.number("document.querySelectorAll('#canvas .dim').length").await > 0, "what falls silent dims");
    wide.open("/drawing?view=panel&of=network:a").await;
    assert_eq!(wide.number("document.querySelectorAll('#canvas .gone, #canvas .dim').length").await, 0);
}

/// The slider says its value while it moves and computes when it rests; it has a name and a value for those who hear it.
async fn slider(window: &driver::Open) {
    window.open("/proof/failures").await;
    let chance = "document.querySelector('#show-chance').textContent";
    let before = window.text(chance).await;
    window.run("const s = document.querySelector('#hours'); s.value = 48; s.dispatchEvent(new Event('input', { bubbles: true }))").await;
    assert_eq!(window.text("document.querySelector('#hours-said').textContent").await, "48 h");
    assert_eq!(window.text("document.querySelector('#hours').getAttribute('aria-valuetext')").await, "48 h");
    assert_eq!(
        window
            .number("document.querySelectorAll('.ask input:not([type=hidden])').length - document.querySelectorAll('.ask label').length")
            .await,
        0
    );
    window.run("document.querySelector('#hours').dispatchEvent(new Event('change', { bubbles: true }))").await;
    window.wait_until("location.search.includes('hours=48') && document.querySelector('#show-chance') !== null").await;
    window.wait_until("'live' in document.documentElement.dataset").await;
    assert_ne!(window.text(chance).await, before, "a longer show is less likely to stay up");
    assert!(window.text("document.querySelector('#spares dt').textContent").await.contains("48 h, nothing repaired"));
}

/// The layer of what hangs on each item writes figures beside its widths, and its legend says what they mean.
async fn hanging(wide: &driver::Open) {
    wide.open("/drawing?view=panel&of=network:a&layers=networks,hang").await;
    let figures = "[...document.querySelectorAll('#canvas text')].filter(text => /!?\\d+\\/\\d+$/.test(text.textContent)).length";
    assert!(wide.number(figures).await > 1, "figures stand in the drawing");
    let legend = "[...document.querySelectorAll('#canvas text')].some(text => text.textContent.includes('fall silent'))";
    wide.wait_until(legend).await;
    wide.wait_until("document.querySelector('#layers a[aria-pressed=true]') !== null").await;
    wide.open("/drawing?view=panel&of=network:a").await;
    assert_eq!(wide.number(figures).await, 0, "and only while the layer is on");
}

/// The line stands still until asked, runs to the end once, and on a phone the picture scrolls in its own box.
async fn worst_moment(window: &driver::Open) {
    window.open("/proof/replay?stream=mics&to=desk&network=a").await;
    assert_eq!(window.number("document.querySelectorAll('.replay svg.plays').length").await, 0, "nothing runs by itself");
    let far = "const figure = document.querySelector('figure.replay'); figure.at = Number(figure.dataset.to) * 0.98; ";
    window.run(&format!("{far} figure.querySelector('[data-play]').click()")).await;
    window
        .wait_until(
            "document.querySelector('.replay [data-play]').textContent === 'Play' && document.querySelector('.replay svg.plays') !== null",
        )
        .await;
    let now = window.text("document.querySelector('.replay output').textContent").await;
    let heard = window.text("(Number(document.querySelector('figure.replay').dataset.to) / 1e6).toFixed(2) + ' \u{b5}s'").await;
    assert_eq!(now, heard);
    if matches!(window.kind, Window::Phone) {
        assert!(window.number("(b => b.scrollWidth - b.clientWidth)(document.querySelector('.replay .lanes'))").await > 0);
    }
}

/// Pages and forms work with script switched off.
async fn without_script(stage: &Stage) {
    let window = stage.window(Window::WithoutScript).await;
    window.open_plain("/gear").await;
    let cell = window.find("#cell-device-desk-title input").await;
    cell.send_keys("By hand").await.expect("typed");
    window.find("#row-device-desk .saver").await.click().await.expect("saved");
    let shown = window.client.find(Locator::Css("#cell-device-desk-title input")).await.expect("the table again");
    assert_eq!(shown.attr("value").await.expect("a value").as_deref(), Some("By hand"));
    assert!(stage.on_disk().contains("title = \"By hand\""));
    window.open_plain("/proof/replay?stream=mics&to=desk&network=a").await;
    assert!(window.find(".replay svg .own rect").await.is_displayed().await.expect("an answer"), "the still picture is there");
    assert!(!window.find("[data-play]").await.is_displayed().await.expect("an answer"), "and no button that does nothing");
    window.open_plain("/proof/failures?hours=6").await;
    assert!(window.find("#spares dt").await.text().await.expect("words").contains("6 h, nothing repaired"));
    window.find(".ask button").await.click().await.expect("computed");
    arrives_at(&window, "hours=6&repair=8").await;
    window.close().await;
}

/// A click may come back before the next page is there.
async fn arrives_at(window: &driver::Open, query: &str) {
    let start = Instant::now();
    loop {
        let address = window.client.current_url().await.expect("an address");
        if address.query().is_some_and(|part| part.contains(query)) {
            return;
        }
        assert!(start.elapsed() < Duration::from_secs(10), "still at {address}");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

/// One tap on the phone ticks an end; the desk sees it at once, and by whom.
async fn one_tap(stage: &Stage, wide: &driver::Open, phone: &driver::Open) {
    phone.open("/linecheck").await;
    phone.find("#crew-name").await.send_keys("Ana").await.expect("typed");
    phone.find(".who button").await.click().await.expect("kept");
    arrives_at(phone, "name=Ana").await;
    phone.open("/linecheck").await;
    assert_eq!(phone.text("document.querySelector('#crew-name').value").await, "Ana", "the browser keeps the name");
    wide.open("/linecheck?place=stage").await;
    phone.find("#end-A-001-0 button.tick").await.click().await.expect("tapped");
    let start = Instant::now();
    wide.wait_until("document.querySelector('#end-A-001-0').classList.contains('done')").await;
    assert!(start.elapsed() < Duration::from_secs(2), "the desk took {:?}", start.elapsed());
    let by = wide.text("document.querySelector('#end-A-001-0 .by').textContent").await;
    assert!(by.contains("Ana"), "{by}");
    phone.wait_until("document.querySelector('#end-A-001-0 button.tick').getAttribute('aria-pressed') === 'true'").await;
    assert!(stage.log().contains("\"cable\":\"A-001\",\"port\":\"stage-box/1\",\"is\":true"));
    wide.wait_until("document.querySelector('.far .value').textContent === '1'").await;
}

/// Taps without a connection wait on the phone, survive a reload, and are sent in order when it is back, each once.
async fn dead_spot(stage: &Stage, phone: &driver::Open) {
    phone.open("/linecheck").await;
    let before = stage.log().lines().count();
    phone.offline(true).await;
    for end in ["#end-A-001-1", "#end-B-001-0", "#end-A-001-1"] {
        phone.run(&format!("document.querySelector('{end} .tick').click()")).await;
        phone.wait_until(&format!("document.querySelector('{end}').classList.contains('waiting')")).await;
    }
    phone.wait_until("document.querySelector('#waiting')?.textContent.includes('3 taps wait')").await;
    assert_eq!(stage.log().lines().count(), before, "nothing can have arrived");
    assert_eq!(phone.number("JSON.parse(localStorage.getItem('loomwright-waiting')).length").await, 3, "kept by the browser itself");
    phone.offline(false).await;
    phone.wait_until("JSON.parse(localStorage.getItem('loomwright-waiting')).length === 0").await;
    let log = stage.log();
    let sent: Vec<&str> = log.lines().skip(before).collect();
    assert_eq!(sent.len(), 3, "{log}");
    assert!(
        sent[0].contains("sw-a-1/1") && sent[1].contains("stage-box/2") && sent[2].contains("sw-a-1/1\",\"is\":false"),
        "in order: {sent:?}"
    );
    assert!(sent.iter().all(|line| line.contains("\"made\":\"")), "with the time of the tap: {sent:?}");
    phone.wait_until("!document.querySelector('#waiting')").await;
    // What the plan no longer has is not lost either: it is shown with the reason until somebody decides.
    phone
        .run("document.querySelector('#end-B-002-0 input[name=cable]').value = 'Z-9'; document.querySelector('#end-B-002-0 .tick').click()")
        .await;
    phone.wait_until("document.querySelector('#waiting')?.textContent.includes('no cable Z-9')").await;
    assert_eq!(phone.number("JSON.parse(localStorage.getItem('loomwright-waiting')).length").await, 1);
    phone.run("window.confirm = () => true; [...document.querySelectorAll('#waiting button')].at(-1).click()").await;
    phone.wait_until("!document.querySelector('#waiting')").await;
}

/// A file is dropped in: it is listed with what was read, and what differs stands below.
/// A page of the crew opens again when the server is gone, where the browser takes the address for secure; taps are kept meanwhile.
async fn opens_again(stage: &Stage) {
    let phone = stage.window(Window::Phone).await;
    let server = driver::Passing::served();
    let address = format!("{}/linecheck", server.address);
    phone.client.goto(&address).await.expect("opened");
    phone.wait_until("document.getElementById('dead-spot').textContent.startsWith('This page opens again')").await;
    assert_eq!(phone.text("String(document.getElementById('kept'))").await, "null");
    server.stop();
    phone.client.goto(&address).await.expect("opened again");
    phone.wait_until("document.querySelector('#kept')?.textContent.includes('No connection')").await;
    phone.wait_until("'live' in document.documentElement.dataset").await;
    phone.run("document.querySelector('form[data-tick] button.tick').click()").await;
    phone.wait_until("document.querySelector('#waiting')?.textContent.includes('waits on this phone')").await;
    phone.client.goto(&format!("{}/c/NOWHERE", server_of(&address))).await.expect("opened");
    phone.wait_until("document.body.textContent.includes('was not open on this phone before')").await;
    phone.close().await;
}

fn server_of(address: &str) -> &str {
    address.trim_end_matches("/linecheck")
}

async fn evidence(wide: &driver::Open) {
    wide.open("/linecheck/seen").await;
    let drop = "const files = new DataTransfer(); files.items.add(new File(['device,port,neighbour,neighbour port\\nstage-box,1,sw-a-1,3\\n'], 'notes.csv')); \
                document.querySelector('#evidence').files = files.files; document.querySelector('.drop button').click()";
    wide.run(drop).await;
    wide.wait_until("document.querySelector('#files')?.textContent.includes('1 neighbour')").await;
    wide.wait_until("document.querySelector('.difference .do') !== null").await;
    wide.open("/linecheck").await;
    wide.wait_until("document.querySelector('.about .differs') !== null").await;
}

/// What the crew taps is at least 44 px each way. **Source**: WCAG 2.2 success criterion 2.5.5.
async fn big_targets(phone: &driver::Open) {
    for path in ["/linecheck", "/c/A-001", "/linecheck/seen", "/linecheck/record"] {
        phone.open(path).await;
        let script = "[...document.querySelectorAll('main button, main .tick, main .about, main input:not([type=hidden]), main a.button, .walk a, .tabs a, body > nav a')].filter(e => { const r = e.getBoundingClientRect(); return r.width > 0 && (r.width < 44 || r.height < 44); }).map(e => e.outerHTML.slice(0, 80) + JSON.stringify(e.getBoundingClientRect())).join(' ')";
        assert_eq!(phone.text(script).await, "", "{path}");
    }
    phone.open("/linecheck").await;
    let named = "[...document.querySelectorAll('main button, main a, main input:not([type=hidden])')].filter(e => !(e.textContent.trim() || e.getAttribute('aria-label') || e.labels?.length)).length";
    assert_eq!(phone.number(named).await, 0, "everything has a name for those who hear the page");
}

/// Ticks, notes and takes back without script, by keyboard alone.
async fn line_check_without_script(stage: &Stage) {
    let window = stage.window(Window::WithoutScript).await;
    window.open_plain("/linecheck").await;
    window.find("#end-B-002-1 button.tick").await.send_keys(&char::from(Key::Enter).to_string()).await.expect("pressed");
    arrives_with(&window, "end-B-002-1").await;
    let pressed = window.find("#end-B-002-1 button.tick").await.attr("aria-pressed").await.expect("an answer");
    assert_eq!(pressed.as_deref(), Some("true"));
    window.open_plain("/c/B-002").await;
    window.find("#note").await.send_keys("spare lies beside it").await.expect("typed");
    window.find("#cable-say button").await.click().await.expect("kept");
    let start = Instant::now();
    while !stage.log().contains("spare lies beside it") {
        assert!(start.elapsed() < Duration::from_secs(10), "the note never came");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    window.close().await;
}

async fn arrives_with(window: &driver::Open, fragment: &str) {
    let start = Instant::now();
    while window.client.current_url().await.expect("an address").fragment() != Some(fragment) {
        assert!(start.elapsed() < Duration::from_secs(10), "never at #{fragment}");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}
