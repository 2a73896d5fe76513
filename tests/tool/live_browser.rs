//! The report in a real browser, without a screen: `cargo test --features live-browser --test tool`.
//! Nothing is skipped: a machine without the browser fails.

use crate::support::{BENCH, Bench, DESK};
use std::path::Path;
use std::process::{Command, Stdio};

const BROWSER: &str = "/usr/bin/chromium";

const QUIET: [&str; 9] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--enable-logging=stderr",
    "--hide-scrollbars",
];

/// What the browser makes of a page.
struct Seen {
    dom: String,
    /// What the page's console was told.
    console: Vec<String>,
}

fn open(bench: &Bench, page: &str, more: &[&str]) -> Seen {
    assert!(Path::new(BROWSER).is_file(), "{BROWSER} is missing: install chromium");
    let mut command = Command::new(BROWSER);
    command.args(QUIET).arg(format!("--user-data-dir={}", bench.at("profile").display()));
    command.args(more).arg("--dump-dom").arg(format!("file://{}", bench.at(page).display()));
    let output = command.stdin(Stdio::null()).output().expect("the browser starts");
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{err}");
    Seen {
        dom: String::from_utf8(output.stdout).expect("UTF-8"),
        console: err.lines().filter(|l| l.contains("CONSOLE")).map(str::to_owned).collect(),
    }
}

#[test]
fn the_console_would_tell_of_a_fault() {
    let bench = Bench::empty();
    bench.write("page.html", "<title>x</title><script>console.error('told'); nothing();</script>");
    let seen = open(&bench, "page.html", &[]);
    assert_eq!(seen.console.len(), 2, "{:?}", seen.console);
}

#[test]
fn the_report_opens_with_its_title_and_pictures_and_a_silent_console() {
    for (file, name, pictures) in [(BENCH, "Reading bench", 4), (DESK, "Study desk upright", 8)] {
        let bench = Bench::new();
        bench.run(&["design", file, "--out", "out"]).ends(0);
        let screenshot = format!("--screenshot={}", bench.at("page.png").display());
        let seen = open(&bench, "out/report.html", &[&screenshot, "--window-size=1200,3000"]);
        assert_eq!(seen.console, Vec::<String>::new());
        assert!(seen.dom.contains(&format!("<title>{name}</title>")));
        assert_eq!(seen.dom.matches("<svg").count(), pictures);
        assert_eq!(seen.dom.matches("<script").count(), 1);
        assert!(seen.dom.trim_end().ends_with("</html>"));
        let image = std::fs::read(bench.at("page.png")).expect("a screenshot");
        assert!(image.starts_with(b"\x89PNG") && image.len() > 20_000, "{} bytes", image.len());
    }
}

/// Measured from outside, in a frame as narrow as a telephone: the page itself is as written.
#[test]
fn the_report_is_no_wider_than_a_telephone() {
    for file in [BENCH, DESK] {
        let bench = Bench::new();
        bench.run(&["design", file, "--out", "out"]).ends(0);
        let page = bench.text("out/report.html").replace('&', "&amp;").replace('"', "&quot;");
        let frame = format!(
            "<!DOCTYPE html><title>frame</title><iframe id=f width=400 height=800 srcdoc=\"{page}\"></iframe>\
             <p id=p></p><script>onload = () => {{ const d = document.getElementById('f').contentDocument.documentElement;\
             document.getElementById('p').textContent = `${{d.clientWidth}} of ${{d.scrollWidth}} px, ${{d.querySelectorAll('svg').length}}`; }}</script>"
        );
        bench.write("frame.html", frame);
        let seen = open(&bench, "frame.html", &["--window-size=1000,1000"]);
        let told = seen.dom.split("<p id=\"p\">").nth(1).and_then(|rest| rest.split("</p>").next());
        let pictures = if file == BENCH { 4 } else { 8 };
        assert_eq!(told, Some(format!("400 of 400 px, {pictures}").as_str()));
    }
}

#[test]
fn no_name_breaks_the_page_or_its_data() {
    is_whole("</script><b id='own'>&amp; <!-- {{ data }}");
}

#[test]
fn no_name_opens_a_comment_in_the_data() {
    is_whole("<!--<script>");
}

/// The page of a design called `name` shows that name and holds it in its data.
fn is_whole(name: &str) {
    let bench = Bench::new();
    bench.change(BENCH, "\"Reading bench\"", &format!("\"{name}\""));
    bench.run(&["design", BENCH, "--out", "out"]).ends(0);
    let page = bench.text("out/report.html");
    let probe = "<script>document.title = JSON.parse(document.getElementById('result').textContent).name === document.querySelector('h1').textContent && !document.getElementById('own') ? 'whole' : 'broken'</script></body>";
    bench.write("probe.html", page.replace("</body>", probe));
    let seen = open(&bench, "probe.html", &[]);
    assert_eq!(seen.console, Vec::<String>::new());
    assert!(seen.dom.contains("<title>whole</title>"));
}
