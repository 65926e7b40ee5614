//! The nearest right name, and lists of names in a sentence.

/// The name among `names` that `wrong` was most likely meant to be, if any is near enough.
///
/// The one that takes the fewest slips to write comes first, spaces and hyphens not counted; only among equals
/// does it tell that one begins as the other does, or how much alike they are.
pub fn nearest<'a>(wrong: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let flat = |name: &str| name.to_lowercase().replace(['_', ' '], "-");
    let joined = |name: &str| name.replace('-', "");
    let wanted = flat(wrong);
    let slips_allowed = 1 + wanted.chars().count() / 6;
    names
        .into_iter()
        .filter_map(|name| {
            let candidate = flat(name);
            let slips = strsim::damerau_levenshtein(&joined(&wanted), &joined(&candidate));
            let shared = candidate.starts_with(&wanted) || wanted.starts_with(&candidate);
            let alike = strsim::jaro_winkler(&wanted, &candidate) + if shared { 0.1 } else { 0.0 };
            (alike >= 0.8 || slips <= slips_allowed).then_some((slips, alike, name))
        })
        .min_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)).then(a.2.cmp(b.2)))
        .map(|(_, _, name)| name)
}

/// `a, b or c`, cut short when there are many.
pub fn join_names<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    const MOST: usize = 14;
    let mut names: Vec<&str> = names.into_iter().collect();
    let left_out = names.len().saturating_sub(MOST);
    names.truncate(MOST);
    match (names.split_last(), left_out) {
        (None, _) => String::new(),
        (Some((last, [])), 0) => (*last).to_owned(),
        (Some((last, rest)), 0) => format!("{} or {last}", rest.join(", ")),
        _ => format!("{} and {left_out} more", names.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_wins_and_a_far_one_is_not_offered() {
        let names = ["shade_class", "sun_hours_min", "dli_min", "salinity_class"];
        assert_eq!(nearest("shade_clas", names), Some("shade_class"));
        assert_eq!(nearest("shade-class", names), Some("shade_class"));
        assert_eq!(nearest("sun_hours", names), Some("sun_hours_min"));
        assert_eq!(nearest("colour", names), None);
    }

    /// A name that begins as another does is not the nearer one for it.
    #[test]
    fn fewest_slips_come_first_and_a_shared_beginning_only_tells_among_equals() {
        let soils = [
            "clay",
            "clay loam",
            "loam",
            "loamy sand",
            "sand",
            "sandy loam",
            "silty clay",
            "silty clay loam",
        ];
        for (wrong, meant) in [
            ("clay laom", "clay loam"),
            ("clay loma", "clay loam"),
            ("clayloam", "clay loam"),
            ("Clay_Loam", "clay loam"),
            ("sandy laom", "sandy loam"),
            ("loamy snad", "loamy sand"),
            ("silty clay laom", "silty clay loam"),
            ("caly", "clay"),
        ] {
            assert_eq!(nearest(wrong, soils), Some(meant), "{wrong}");
        }
        assert_eq!(nearest("aspect", ["aspens", "aspects"]), Some("aspects"));
        assert_eq!(nearest("methode", ["methods", "method"]), Some("method"));
    }

    #[test]
    fn names_are_joined_as_in_a_sentence() {
        assert_eq!(join_names(["a"]), "a");
        assert_eq!(join_names(["a", "b", "c"]), "a, b or c");
    }
}
