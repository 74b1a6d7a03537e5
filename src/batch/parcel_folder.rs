//! A parcel's folder name from its id: unique, safe on any file system, and readable back.

use std::collections::BTreeMap;

/// Longest name in bytes; file systems commonly end at 255, and temporary names are longer by a few.
const LONGEST: usize = 200;

/// Folder name of each id.
///
/// Letters, digits, `-`, `_`, space and inner dots stay; every other byte becomes `%XX`. Ids that differ only in case,
/// which some file systems take for one, have their capitals written as `%XX` too. Names that would be too long end in a
/// digest of the id.
///
/// ```
/// let ids = ["P/1", "lawn", "Lawn"].map(str::to_owned);
/// let names = swardline::batch::folder_names(&ids);
/// assert_eq!(names["P/1"], "P%2F1");
/// assert_eq!(names["lawn"], "lawn");
/// assert_eq!(names["Lawn"], "%4Cawn");
/// ```
pub fn folder_names(ids: &[String]) -> BTreeMap<String, String> {
    let mut alike: BTreeMap<String, usize> = BTreeMap::new();
    for id in ids {
        *alike.entry(id.to_lowercase()).or_default() += 1;
    }
    let name = |id: &String| {
        let shared = alike.get(&id.to_lowercase()).is_some_and(|&n| n > 1);
        (id.clone(), shortened(escaped(id, shared), id))
    };
    ids.iter().map(name).collect()
}

fn escaped(id: &str, capitals: bool) -> String {
    let last = id.chars().count().saturating_sub(1);
    let mut name = String::new();
    for (index, letter) in id.chars().enumerate() {
        let inner = index > 0 && index < last;
        let plain = match letter {
            '-' | '_' => true,
            ' ' | '.' => inner,
            _ => letter.is_alphanumeric() && !(capitals && letter.is_uppercase()),
        };
        if plain {
            name.push(letter);
        } else {
            let mut bytes = [0; 4];
            for byte in letter.encode_utf8(&mut bytes).bytes() {
                name.push_str(&format!("%{byte:02X}"));
            }
        }
    }
    name
}

fn shortened(name: String, id: &str) -> String {
    if name.len() <= LONGEST {
        return name;
    }
    let digest = crate::batch::run_file::sha256_hex(id.as_bytes());
    let mut end = LONGEST - 20;
    while !name.is_char_boundary(end) {
        end -= 1;
    }
    format!("{}~{}", &name[..end], &digest[..16])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_climbs_out_or_hides() {
        let ids = ["..", ".", ".hidden", "a/../b", "end.", "Grünfläche 3"].map(str::to_owned);
        let names = folder_names(&ids);
        assert_eq!(names[".."], "%2E%2E");
        assert_eq!(names["."], "%2E");
        assert_eq!(names[".hidden"], "%2Ehidden");
        assert_eq!(names["a/../b"], "a%2F..%2Fb");
        assert_eq!(names["end."], "end%2E");
        assert_eq!(names["Grünfläche 3"], "Grünfläche 3");
    }

    proptest! {
        #[test]
        fn different_ids_never_share_a_folder(ids in proptest::collection::btree_set("(?s).{1,90}", 1..12)) {
            let ids: Vec<String> = ids.into_iter().collect();
            let names = folder_names(&ids);
            let distinct: std::collections::BTreeSet<_> = names.values().collect();
            prop_assert_eq!(distinct.len(), ids.len());
            for name in names.values() {
                prop_assert!(name.len() <= LONGEST && !name.contains(['/', '\0']) && !name.starts_with('.'));
            }
        }
    }
}
