//! What is alike is told once, in the order in which it first comes.

/// What comes under the same key, together.
pub fn grouped<K: PartialEq, T>(all: impl IntoIterator<Item = (K, T)>) -> Vec<(K, Vec<T>)> {
    let mut groups: Vec<(K, Vec<T>)> = Vec::new();
    for (key, one) in all {
        match groups.iter_mut().find(|(own, _)| *own == key) {
            Some((_, group)) => group.push(one),
            None => groups.push((key, vec![one])),
        }
    }
    groups
}

/// Each once.
pub fn each_once<T: PartialEq>(all: impl IntoIterator<Item = T>) -> Vec<T> {
    let mut once = Vec::new();
    add_once(&mut once, all);
    once
}

/// Adds what is not there yet.
pub fn add_once<T: PartialEq>(once: &mut Vec<T>, more: impl IntoIterator<Item = T>) {
    for one in more {
        if !once.contains(&one) {
            once.push(one);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_again_later_joins_the_first() {
        let rows = [("rain", 1), ("sun", 2), ("rain", 3), ("rain", 3)];
        assert_eq!(grouped(rows), [("rain", vec![1, 3, 3]), ("sun", vec![2])]);
        assert_eq!(each_once(rows.map(|(key, _)| key)), ["rain", "sun"]);
    }
}
