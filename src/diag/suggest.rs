//! The nearest right name, and lists of names in a sentence.

/// The name among `names` that `wrong` was most likely meant to be, if any is near enough.
pub fn nearest<'a>(wrong: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let flat = |name: &str| name.to_lowercase().replace(['_', ' '], "-");
    let wanted = flat(wrong);
    names
        .into_iter()
        .map(|name| {
            let candidate = flat(name);
            let shared = candidate.starts_with(&wanted) || wanted.starts_with(&candidate);
            let score = strsim::jaro_winkler(&wanted, &candidate) + if shared { 0.1 } else { 0.0 };
            (score, name)
        })
        .filter(|(score, name)| {
            *score >= 0.8
                || strsim::damerau_levenshtein(&wanted, &flat(name)) <= 1 + wanted.chars().count() / 6
        })
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(a.1)))
        .map(|(_, name)| name)
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

    #[test]
    fn names_are_joined_as_in_a_sentence() {
        assert_eq!(join_names(["a"]), "a");
        assert_eq!(join_names(["a", "b", "c"]), "a, b or c");
    }
}
