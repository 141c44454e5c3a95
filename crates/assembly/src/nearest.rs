//! The known word that somebody may have meant.

/// Known words, nearest first, `most` at most.
pub(crate) fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>, most: usize) -> Vec<&'a str> {
    let mut all: Vec<(usize, &str)> = known.map(|k| (distance(word, k), k)).collect();
    all.sort_by_key(|(d, _)| *d);
    all.into_iter().take(most).map(|(_, k)| k).collect()
}

/// The known word that is so near that it was probably meant.
pub(crate) fn meant<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let near = nearest(word, known, 1).into_iter().next()?;
    (distance(word, near) <= (word.chars().count() / 3).max(1)).then_some(near)
}

/// The known words for a help text: all of them, or the eight nearest of many.
pub(crate) fn list<'a>(word: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    const MOST: usize = 8;
    let count = known.clone().count();
    if count <= MOST {
        return known.collect::<Vec<_>>().join(", ");
    }
    format!("{}, and {} more", nearest(word, known, MOST).join(", "), count - MOST)
}

/// Letters to change, leave out, add or swap with their neighbour (optimal string alignment).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows = vec![vec![0; b.len() + 1]; a.len() + 1];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            if i == 0 || j == 0 {
                rows[i][j] = i + j;
                continue;
            }
            let change = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = change.min(rows[i - 1][j] + 1).min(rows[i][j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances() {
        for (a, b, d) in [("", "", 0), ("grid", "gird", 1), ("grid", "grids", 1), ("abc", "xyz", 3), ("", "ab", 2)] {
            assert_eq!((distance(a, b), distance(b, a)), (d, d), "{a} {b}");
        }
    }

    #[test]
    fn what_was_meant() {
        let known = ["lateness", "length", "grid"];
        assert_eq!(meant("gird", known.into_iter()), Some("grid"));
        assert_eq!(meant("color", known.into_iter()), None);
        assert_eq!(list("x", known.into_iter()), "lateness, length, grid");
        let many = ["a1", "a2", "a3", "a4", "a5", "a6", "a7", "b", "c"];
        assert_eq!(list("b", many.into_iter()), "b, c, a1, a2, a3, a4, a5, a6, and 1 more");
    }
}
