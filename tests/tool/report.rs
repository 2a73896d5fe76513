//! `report.html`: one file that holds everything and asks nobody for more.

use crate::support::{BED, BENCH, Bench, DESK};
use crate::svg;
use serde_json::Value;

/// The report of a design, written beside its other files.
fn page(bench: &Bench, file: &str) -> String {
    bench.run(&["design", file, "--out", "out"]).ends(0);
    bench.text("out/report.html")
}

/// What stands between the first `from` behind and the next `to`.
fn between<'p>(page: &'p str, from: &str, to: &str) -> &'p str {
    let start = page.find(from).unwrap_or_else(|| panic!("no `{from}`")) + from.len();
    let end = page[start..].find(to).unwrap_or_else(|| panic!("no `{to}`")) + start;
    &page[start..end]
}

const DATA: &str = "<script type=\"application/json\" id=\"result\">";

fn data(page: &str) -> &str {
    between(page, DATA, "</script>")
}

/// The page without what a browser does not show as text: the elements, the data, the styles.
fn words(page: &str) -> String {
    let page = page.replace(data(page), "").replace(between(page, "<style>", "</style>"), "");
    let mut text = String::new();
    for piece in page.split('<') {
        text.push_str(piece.split_once('>').map_or(piece, |(_, after)| after));
        text.push(' ');
    }
    flat(&plain(&text))
}

/// Entities as the signs they stand for.
fn plain(text: &str) -> String {
    let mut pieces = text.split('&');
    let mut out = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (entity, rest) = piece.split_once(';').expect("an entity ends");
        out.push(match entity {
            "lt" | "#60" => '<',
            "gt" | "#62" => '>',
            "amp" | "#38" => '&',
            "quot" | "#34" => '"',
            "apos" | "#39" => '\'',
            other => panic!("&{other};"),
        });
        out.push_str(rest);
    }
    out
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The page as elements; what only HTML has is put aside.
fn elements(page: &str) -> Vec<svg::Element> {
    let rest = page.strip_prefix("<!DOCTYPE html>").expect("an HTML page").trim_start();
    let rest = rest.replace(data(page), "").replace(between(page, "<style>", "</style>"), "");
    let metas = rest.matches("<meta ").count();
    let closed = rest.replace("<meta charset=\"utf-8\">", "");
    let closed = closed
        .replace("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">", "");
    assert_eq!((metas, closed.matches("<meta ").count()), (2, 0));
    svg::read(closed.trim_end()).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn it_is_one_file_that_points_nowhere() {
    for file in [BENCH, BED, DESK] {
        let page = page(&Bench::of_project(), file);
        let own = page.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
        for foreign in [
            "http:",
            "https:",
            "file:",
            "//www",
            "<link",
            "<img",
            "<iframe",
            "<object",
            "@import",
            "url(",
            "src=",
            "href=",
            "/tmp",
            "javascript",
            " onload",
        ] {
            assert!(!own.contains(foreign), "`{foreign}` in the report of {file}");
        }
        assert_eq!(page.matches("<script").count(), 1, "data is the only script");
        assert_eq!(page.matches("</script").count(), 1);
        assert!(page.contains(DATA));
    }
}

#[test]
fn it_is_well_formed_with_every_name_of_an_element_once() {
    for file in [BENCH, BED, DESK] {
        let page = page(&Bench::of_project(), file);
        assert!(page.trim_end().ends_with("</html>"));
        let elements = elements(&page);
        assert_eq!(elements[0].name, "html");
        assert_eq!(elements[0].attribute("lang"), Some("en"));
        let mut ids: Vec<&str> = elements.iter().filter_map(|e| e.attribute("id")).collect();
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all, "an id is used twice");
        let count = |name: &str| elements.iter().filter(|e| e.name == name).count();
        assert_eq!((count("h1"), count("body")), (1, 1));
        assert_eq!(count("title"), 1 + count("svg"), "the page and every picture have a title");
    }
}

/// Of each side that differs.
const PICTURES: [&str; 12] = [
    "response",
    "impedance",
    "phase",
    "values",
    "excursion",
    "loudest",
    "amplifier",
    "cavity",
    "sheet",
    "circuit",
    "placement",
    "directions",
];

#[test]
fn it_shows_every_picture_that_is_written_beside_it() {
    for (file, folders) in [(BENCH, vec!["out"]), (DESK, vec!["out/left", "out/right"])] {
        let bench = Bench::new();
        let page = page(&bench, file);
        let panel = bench.text("out/panel.svg");
        assert!(page.contains(panel[panel.find("<svg").unwrap()..].trim_end()));
        let mut pictures = 1;
        for folder in folders {
            for name in PICTURES {
                let picture = bench.text(&format!("{folder}/{name}.svg"));
                let picture = &picture[picture.find("<svg").unwrap()..];
                assert!(page.contains(picture.trim_end()), "{name} of {folder} is not inside");
                pictures += 1;
            }
        }
        assert_eq!(page.matches("<svg").count(), pictures);
        assert_eq!(page.matches("</svg>").count(), pictures);
    }
}

#[test]
fn the_numbers_in_it_are_those_of_design_json() {
    let bench = Bench::of_project();
    for (file, points) in [(BENCH, "480"), (BED, "37"), (DESK, "2")] {
        let arguments = ["design", file, "--json", "--points", points, "--out", "out"];
        let printed = bench.run(&arguments).ends(0).json();
        let page = bench.text("out/report.html");
        let inside: Value = serde_json::from_str(data(&page)).expect("a JSON document");
        assert_eq!(inside, printed, "{file}");
    }
}

#[test]
fn everything_the_summary_tells_is_in_it() {
    for file in [BENCH, BED, DESK] {
        let bench = Bench::of_project();
        let page = page(&bench, file);
        let told = words(&page);
        let document: Value = serde_json::from_str(data(&page)).unwrap();
        for list in ["warnings", "notes"] {
            for finding in document[list].as_array().unwrap() {
                let (word, text) = finding.as_str().unwrap().split_once(": ").unwrap();
                assert!(told.contains(&flat(&format!("{word} {text}"))), "{word}: {text}");
            }
        }
        let printed = bench.run(&["design", file]).ends(0).out;
        let (_, care) = printed.split_once("\nCare\n").expect("cautions");
        let care = flat(care);
        let sentences: Vec<&str> = care.split_inclusive(". ").map(str::trim).collect();
        assert!(sentences.len() >= 3);
        sentences.iter().for_each(|s| assert!(told.contains(s), "`{s}` of {file}"));
        for side in document["sides"].as_array().unwrap() {
            for part in side["parts"].as_array().unwrap() {
                let reference = part["ref"].as_str().unwrap();
                assert!(page.contains(&format!("<td>{reference}</td>")), "{reference}");
            }
        }
    }
}

#[test]
fn its_parts_are_those_of_the_parts_list() {
    let bench = Bench::priced();
    bench.change(BENCH, "series = \"E24\"", "series = \"E6\"\npairs_above_percent = 4");
    let told = words(&page(&bench, BENCH));
    let printed = bench.run(&["parts", BENCH]).ends(0).out;
    let mut lines = printed.lines();
    assert!(lines.next().unwrap().contains("to buy"));
    for line in lines.by_ref().take_while(|line| !line.trim().is_empty()) {
        let cells: Vec<&str> =
            line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
        // The page has the item behind the reference, the terminal at the end.
        let (item, numbers) = cells.split_last().unwrap();
        let place = if line.starts_with("   ") { 0 } else { 1 };
        let row = [&numbers[..place], &[*item], &numbers[place..]].concat();
        assert!(told.contains(&row.join(" ")), "{row:?}");
    }
    let sentences = flat(&lines.collect::<Vec<_>>().join(" "));
    assert!(told.contains(&sentences), "{sentences}");
}

#[test]
fn it_shows_the_files_it_was_made_from() {
    let bench = Bench::new();
    let told = words(&page(&bench, BENCH));
    for file in [BENCH, "drivers/bramble.toml", "drivers/fennel.toml"] {
        assert!(told.contains(&flat(&bench.text(file))), "{file}");
    }
    assert!(!told.contains("Sorrel"), "only what the design names");
}

#[test]
fn verdicts_say_whether_the_limits_are_kept() {
    let bench = Bench::new();
    let good = words(&page(&bench, BENCH));
    assert!(good.contains("within its limits") && !good.contains("not fit as it stands"));
    bench.change(BENCH, "lowest_load_ohm = 3.2", "lowest_load_ohm = 8");
    bench.run(&["design", BENCH, "--out", "out"]).ends(1);
    let bad = words(&bench.text("out/report.html"));
    assert!(bad.contains("not fit as it stands") && !bad.contains("within its limits"));
    assert!(bad.contains("8.00 Ω or more missed"), "{bad}");
}

#[test]
fn it_prints_on_a4() {
    let page = page(&Bench::new(), BENCH);
    let style = flat(between(&page, "<style>", "</style>"));
    assert!(between(&style, "@page {", "}").contains("size: A4"), "{style}");
    assert!(style.contains("@media print {"), "{style}");
}

/// A bench whose names hold `name`, in the design, the sides, the seat, a driver and an extra.
fn named(name: &str) -> Bench {
    let bench = Bench::priced();
    let toml = name.replace('\\', "\\\\").replace('"', "\\\"");
    bench.change(BENCH, "\"Reading bench\"", &format!("\"1 {toml}\""));
    bench.change(BENCH, "\"left\"", &format!("\"2 {toml}\""));
    bench.change(BENCH, "\"reader\"", &format!("\"3 {toml}\""));
    bench.change(BENCH, "\"twin wire\"", &format!("\"4 {toml}\""));
    bench.change("drivers/bramble.toml", "\"Bramble 90\"", &format!("\"5 {toml}\""));
    bench
}

/// The page of a bench with such names is whole, shows them, and holds them in its data.
fn keeps(name: &str) {
    let page = page(&named(name), BENCH);
    elements(&page);
    assert_eq!(page.replace(data(&page), "").matches("<script").count(), 1, "{name}");
    let told = words(&page);
    for k in 1..=5 {
        assert!(told.contains(&flat(&format!("{k} {name}"))), "{k} {name}");
    }
    let document: Value = serde_json::from_str(data(&page)).expect("a JSON document");
    assert_eq!(document["name"], format!("1 {name}"));
    assert_eq!(document["sides"][0]["name"], format!("2 {name}"));
    assert_eq!(document["sides"][0]["listeners"][0]["name"], format!("3 {name}"));
    assert!(page.trim_end().ends_with("</html>"));
}

#[test]
fn signs_of_html_in_names_are_only_names() {
    keeps("A & B <bench> \"one\" it's");
    keeps("&amp; &lt;b&gt; &#60;");
    keeps("<b>bold</b><img src=x onerror=alert(1)>");
}

#[test]
fn no_name_ends_the_data_or_hides_its_end() {
    keeps("</script><script>alert(1)</script>");
    keeps("</SCRIPT >");
    keeps("</pre></section></style>");
    keeps("{{ data|safe }} {% raw %}");
    keeps("\u{2028} \\u003c/script\\u003e");
}

/// The letter of HTML: after `<!--` and `<script` a browser takes the next `</script>` for text.
#[test]
fn no_name_opens_a_comment_in_the_data() {
    let page = page(&named("<!--<script>"), BENCH);
    assert!(!data(&page).contains("<!--"), "a comment opens in the data");
    keeps("<!-- a --> <!--<script>");
}

#[test]
fn the_demo_has_its_report_too() {
    let bench = Bench::empty();
    bench.run(&["demo", "--out", "out"]).ends(0);
    let page = bench.text("out/report.html");
    elements(&page);
    assert!(page.contains("<title>Reading bench</title>"));
}
