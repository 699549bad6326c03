//! Lines and columns, for the edges only: inside, places are byte ranges.

/// Where the lines of a text begin. Lines end with LF, CRLF or a lone CR.
#[derive(Debug, Clone)]
pub struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    /// Finds the line starts of a text.
    pub fn new(text: &str) -> Self {
        let bytes = text.as_bytes();
        let mut starts = vec![0];
        for (at, byte) in bytes.iter().enumerate() {
            let ends_line = *byte == b'\n' || (*byte == b'\r' && bytes.get(at + 1) != Some(&b'\n'));
            if ends_line {
                starts.push(at + 1);
            }
        }
        Self { starts }
    }

    /// Line and column of a byte offset, both from 1, the column in characters.
    pub fn position(&self, text: &str, offset: usize) -> (usize, usize) {
        let line = self.starts.partition_point(|start| *start <= offset).max(1);
        let start = self.starts[line - 1];
        let column = text.get(start..offset.min(text.len())).map_or(0, |before| before.chars().count());
        (line, column + 1)
    }

    /// The byte range of a line (from 0) without its line end.
    pub fn range(&self, text: &str, line: usize) -> std::ops::Range<usize> {
        let start = self.starts.get(line).copied().unwrap_or(text.len());
        let end = self.starts.get(line + 1).copied().unwrap_or(text.len());
        start..start + text[start..end].trim_end_matches(['\r', '\n']).len()
    }

    /// The line (from 0) that holds a byte offset.
    pub fn line(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset).max(1) - 1
    }
}

#[cfg(test)]
mod tests {
    use super::Lines;

    #[test]
    fn lines_end_with_lf_crlf_or_a_lone_cr() {
        let text = "a\r\nbé\rc\nd";
        let lines = Lines::new(text);
        assert_eq!(lines.position(text, 0), (1, 1));
        assert_eq!(lines.position(text, 3), (2, 1));
        assert_eq!(lines.position(text, 6), (2, 3));
        assert_eq!(lines.position(text, 7), (3, 1));
        assert_eq!(lines.position(text, 9), (4, 1));
        assert_eq!(lines.range(text, 1), 3..6);
    }
}
