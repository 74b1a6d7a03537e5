use super::*;
use crate::deliver::example;
use crate::design::model::{Grade, HeadWork};
use crate::design::works::survey::Rebuilt;

fn audited(reason: &str) -> Audited {
    let mut design = example::design();
    design.turf[0].grade = Some(Grade {
        letter: 'C',
        reasons: vec![reason.to_owned()],
    });
    Audited {
        design,
        rebuilt: Rebuilt::default(),
        project: example::project(),
    }
}

#[test]
fn sides_stand_beside_each_other_and_words_stay_text() {
    let comparison = Comparison {
        kept: true,
        heads: vec![(HeadWork::Kept, 7), (HeadWork::Set, 2)],
        heads_removed: 1,
        payback_years: Some(4.26),
        after: Side {
            cost: Some(1234.5),
            ..Side::default()
        },
        ..Comparison::default()
    };
    let folder = tempfile::tempdir().unwrap();
    let before = audited("</script><b>dry");
    write(
        &example::parcel(),
        &comparison,
        &before,
        &example::design(),
        folder.path(),
    )
    .unwrap();
    let table = std::fs::read_to_string(folder.path().join("retrofit.csv")).unwrap();
    assert!(
        table.starts_with("figure,before,after,anew\nheads,0,0,0\n"),
        "{table}"
    );
    assert!(table.contains("\nheads_set,,2,\n") && table.contains("\npayback_years,,4.3,\n"));
    assert!(
        table.contains("\ncost,,1235,\n") || table.contains("\ncost,,1234,\n"),
        "{table}"
    );
    let page = std::fs::read_to_string(folder.path().join("retrofit.html")).unwrap();
    assert_eq!(page.matches("</script>").count(), 1, "its own");
    assert!(page.contains("in 4.3 years") && page.contains("dry") && !page.contains("NaN"));
}
