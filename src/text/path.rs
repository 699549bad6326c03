//! Paths: the keys that lead to a place in a plan, with points between them.

/// The parts of a path, empty ones left out. Parts are short: they are looked through byte by byte, which is quicker than
/// any search that has to be set up.
pub fn parts(path: &str) -> impl Iterator<Item = &str> {
    let mut rest = path;
    let next = move || {
        (!rest.is_empty()).then(|| {
            let end = rest.bytes().position(|byte| byte == b'.').unwrap_or(rest.len());
            let (part, behind) = rest.split_at(end);
            rest = behind.get(1..).unwrap_or_default();
            part
        })
    };
    std::iter::from_fn(next).filter(|part| !part.is_empty())
}

/// The thing that a path leads into, like `wires.main`.
pub fn thing(path: &str) -> &str {
    path.match_indices('.').nth(1).map_or(path, |(at, _)| &path[..at])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_leads_into_a_thing() {
        assert_eq!((thing("wires.main.fuse.rating"), thing("vehicle")), ("wires.main", "vehicle"));
    }

    #[test]
    fn a_path_has_the_parts_between_its_points() {
        for (path, is) in
            [("", &[] as &[&str]), ("a", &["a"]), ("wires.é.2", &["wires", "é", "2"]), (".a..b.", &["a", "b"])]
        {
            assert_eq!(parts(path).collect::<Vec<_>>(), is, "{path:?}");
        }
    }
}
