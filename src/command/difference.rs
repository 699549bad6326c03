//! The lines in which two texts differ. Of the library only one way of finding them is used: all of them together make the
//! program larger by a fortieth.

use std::fmt::Write as _;
use std::ops::Range;

use similar::algorithms::{Capture, Compact, Replace, myers};
use similar::{DiffOp, DiffTag, group_diff_ops};

/// So many lines that are the same stand around those that differ.
const AROUND: usize = 2;

/// Two texts by their lines, and the stretches in which they are the same or differ.
pub struct Difference<'t> {
    old: Vec<&'t str>,
    new: Vec<&'t str>,
    ops: Vec<DiffOp>,
}

impl<'t> Difference<'t> {
    /// Finds it.
    pub fn of(old: &'t str, new: &'t str) -> Self {
        let lines = |text: &'t str| text.split_inclusive('\n').collect::<Vec<_>>();
        let (old, new) = (lines(old), lines(new));
        let mut found = Compact::new(Replace::new(Capture::new()), &old, &new);
        // What only captures cannot fail.
        let _ = myers::diff(&mut found, &old, 0..old.len(), &new, 0..new.len());
        let ops = found.into_inner().into_inner().into_ops();
        Self { old, new, ops }
    }

    /// The stretches.
    pub fn ops(&self) -> &[DiffOp] {
        &self.ops
    }

    /// The unified format of POSIX `diff -u`, without the times of the files; nothing where the texts are the same.
    pub fn unified(&self, name: &str) -> String {
        let mut out = String::new();
        for (number, group) in group_diff_ops(self.ops.clone(), AROUND).iter().enumerate() {
            let (Some(first), Some(last)) = (group.first(), group.last()) else { continue };
            if number == 0 {
                let _ = writeln!(out, "--- {name}\n+++ {name}");
            }
            let of = |range: fn(&DiffOp) -> Range<usize>| span(&(range(first).start..range(last).end));
            let _ = writeln!(out, "@@ -{} +{} @@", of(DiffOp::old_range), of(DiffOp::new_range));
            for op in group {
                if op.tag() == DiffTag::Equal {
                    write(&mut out, ' ', &self.old[op.old_range()]);
                } else {
                    write(&mut out, '-', &self.old[op.old_range()]);
                    write(&mut out, '+', &self.new[op.new_range()]);
                }
            }
        }
        out
    }
}

/// Lines from the first on, and how many; of none it is the line before.
fn span(lines: &Range<usize>) -> String {
    match lines.len() {
        1 => format!("{}", lines.start + 1),
        0 => format!("{},0", lines.start),
        more => format!("{},{more}", lines.start + 1),
    }
}

fn write(out: &mut String, mark: char, lines: &[&str]) {
    for line in lines {
        out.push(mark);
        out.push_str(line);
        if !line.ends_with('\n') {
            out.push_str("\n\\ No newline at end of file\n");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As `diff -u` of GNU diffutils 3.8 writes it, with two lines around.
    #[test]
    fn what_differs_stands_between_lines_that_do_not() {
        let told = |old: &str, new: &str| Difference::of(old, new).unified("x");
        assert_eq!(told("a\n", "a\n"), "");
        assert_eq!(
            told("a\nb\nc\nd\ne\nf\n", "a\nb\nc\nD\ne\nf\n"),
            "--- x\n+++ x\n@@ -2,5 +2,5 @@\n b\n c\n-d\n+D\n e\n f\n"
        );
        assert_eq!(told("a\n", "a\nb"), "--- x\n+++ x\n@@ -1 +1,2 @@\n a\n+b\n\\ No newline at end of file\n");
        assert_eq!(told("", "a\n"), "--- x\n+++ x\n@@ -0,0 +1 @@\n+a\n");
        assert_eq!(told("a\nb\n", "b\n"), "--- x\n+++ x\n@@ -1,2 +1 @@\n-a\n b\n");
    }
}
