//! The whole page of the example, read back.

use super::*;
use crate::brief::Project;
use crate::deliver::example;
use crate::design::model::Design;
use crate::site::Parcel;

fn page(design: &Design) -> String {
    page_of(&example::parcel(), design, &example::project())
}

fn page_of(parcel: &Parcel, design: &Design, project: &Project) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("report.html");
    write(&Job::new(parcel, design, project), &path).unwrap();
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn the_page_asks_nothing_of_the_network_and_escapes_what_it_is_told() {
    let page = page(&example::design());
    let without_names = page.replace("http://www.w3.org/2000/svg", "");
    for outside in ["http:", "https:", "<link", "src=", "@import", "url("] {
        assert!(!without_names.contains(outside), "{outside}");
    }
    assert_eq!(page.matches("<script").count(), 1, "its own");
    assert!(page.contains("Turf &lt;T1&gt; is watered"));
    assert!(!page.contains("Turf <T1>"));
    assert!(!page.contains("NaN"));
}

#[test]
fn all_cautions_stand_in_it() {
    let page = page(&Design::default()).to_lowercase();
    for word in [
        "backflow",
        "drinking water",
        "buried services",
        "electrical",
        "trench",
        "frost",
        "arborist",
        "licensed",
    ] {
        assert!(page.contains(word), "{word}");
    }
}

#[test]
fn numbers_are_grouped_and_missing_ones_dashed() {
    assert_eq!(number(1234.56, 1), "1234.6");
    assert_eq!(number(-1_234_567.0, 0), "-1\u{202f}234\u{202f}567");
    assert_eq!(number(123_456.0, 0), "123\u{202f}456");
    assert_eq!(number(None, 1), "–");
    assert_eq!(number(f64::NAN, 1), "–");
    assert_eq!(percent(Some(0.125)), "12.5 %");
}

#[test]
fn names_from_outside_stay_text_wherever_they_stand() {
    let evil = "</script></title><img src=x onerror=alert(1)>\"'&🌱";
    let (mut parcel, mut design, mut project) =
        (example::parcel(), example::design(), example::project());
    parcel.id = evil.into();
    parcel.name = Some(evil.into());
    parcel.turf[0].id = evil.into();
    project.name = evil.into();
    project.catalogue.origin = evil.into();
    project.catalogue.heads[0].name = evil.into();
    project.catalogue.heads[0].nozzles[0].name = evil.into();
    for pipe in &mut project.catalogue.pipes {
        pipe.nominal = evil.into();
        pipe.material = evil.into();
    }
    project.catalogue.valves[0].size = evil.into();
    design.takeoff[0].item = evil.into();
    design.schedule.balances[0].soil = evil.into();
    design.stations[0].rate_class = evil.into();
    if let Some(supply) = &mut design.supply {
        supply.water_point = evil.into();
    }
    let page = page_of(&parcel, &design, &project);
    assert!(!page.contains("<img") && !page.contains("src=x onerror=alert(1)>"));
    assert_eq!(page.matches("</script>").count(), 1, "its own");
    assert_eq!(
        page.matches("<title").count(),
        page.matches("</title>").count()
    );
    assert!(page.matches("🌱").count() > 20, "told, not dropped");
}

#[test]
fn every_link_of_the_page_leads_somewhere_and_no_name_is_given_twice() {
    for design in [example::design(), Design::default()] {
        let page = page(&design);
        let after = |what: &'static str| {
            page.split(what)
                .skip(1)
                .map(|rest| rest.split('"').next().unwrap().to_owned())
                .collect::<Vec<_>>()
        };
        let ids = after(" id=\"");
        for link in after("href=\"#") {
            let count = ids.iter().filter(|id| **id == link).count();
            assert_eq!(count, 1, "{link}");
        }
        let mut once = ids.clone();
        once.sort();
        once.dedup();
        assert_eq!(once.len(), ids.len());
    }
}

#[test]
fn each_way_through_the_winter_has_its_own_words() {
    let (parcel, design) = (example::parcel(), example::design());
    let mut project = example::project();
    project.rules.drain = 1.0;
    let drains = page_of(&parcel, &design, &project);
    assert!(drains.contains("empties by gravity") && !drains.contains("Compressed air"));
    project.rules.drain = 0.0;
    let flush = page_of(&parcel, &design, &project);
    assert!(flush.contains("does not freeze to the pipe") && !flush.contains("Compressed air"));
}

/// No rule chooses it yet.
#[test]
fn blowing_out_tells_the_pressure_the_order_and_the_danger() {
    let winter = context! { way => "blow_out", rating_kpa => "480", farthest => "2, 1" };
    let environment = environment().unwrap();
    let template = environment.get_template("winter.html").unwrap();
    let text = template.render(context! { winter }).unwrap();
    for words in [
        "never over 480 kPa",
        "Farthest first",
        "2, 1.",
        "Eyes and ears",
        "short bursts",
        "somebody experienced",
    ] {
        assert!(text.contains(words), "{words}");
    }
}

/// Time and size of a page: `cargo test --release --lib time_of_a_page -- --ignored --nocapture`.
#[test]
#[ignore = "a measurement, not a check"]
fn time_of_a_page() {
    let (parcel, project) = (example::parcel(), example::project());
    let mut design = example::design();
    for _ in 1..20 {
        let one = example::design();
        let (nodes, heads) = (design.nodes.len(), design.heads.len());
        let first = design.stations.len();
        design.pipes.extend(
            one.pipes
                .iter()
                .filter(|p| p.section != crate::design::model::Section::Main)
                .map(|pipe| {
                    let mut pipe = pipe.clone();
                    pipe.from += nodes;
                    pipe.to += nodes;
                    if let crate::design::model::Section::Station(s) = &mut pipe.section {
                        *s += first;
                    }
                    pipe
                }),
        );
        design.stations.extend(one.stations.iter().map(|station| {
            let mut station = station.clone();
            station.valve_node += nodes;
            station.heads.iter_mut().for_each(|head| *head += heads);
            station
        }));
        design
            .station_of
            .extend(one.station_of.iter().map(|s| s.map(|s| s + first)));
        design.nodes.extend(one.nodes.iter().map(|node| {
            let mut node = node.clone();
            node.head = node.head.map(|head| head + heads);
            node
        }));
        design.heads.extend(one.heads);
        design.working.extend(one.working);
        design.throws.extend(one.throws);
    }
    let start = std::time::Instant::now();
    let page = page_of(&parcel, &design, &project);
    println!(
        "{} heads, {} stations: {:?}, {} bytes",
        design.heads.len(),
        design.stations.len(),
        start.elapsed(),
        page.len()
    );
}
