//! Fuses in the outputs of a block, as offers.

use super::site::{MOST, ratings, ratings_up_to};
use crate::judge::Offer;
use crate::plan::{Block, Fuse, FuseForm, Holder, Wire};
use crate::quantity::{Current, Quantity, Range};
use crate::solve::{Job, Thing};
use crate::words;

/// A fuse in a block's output, up to so many amperes, of the kind that another output of the block has, or of that before
/// the block.
pub fn in_output(block: &Thing<'_, Block>, output: &str, before: &Fuse, amperes: f64, job: &Job<'_>) -> Vec<Offer> {
    let Some(like) = like(block, before, amperes, job) else { return Vec::new() };
    let fit = ratings_up_to(like.form, amperes, job).into_iter().take(MOST);
    let each = fit.map(|rating| {
        Offer::new(format!("fit {} fuse in the output", words::a(Range::<Current>::point(rating))))
            .set(block.at(format!("outputs.{output}.fuse")), as_in(&like, rating, block, output).written())
    });
    each.collect()
}

/// The fuse after whose kind one in an output is chosen. Where the block has none yet it becomes one with fuses, and what the
/// fuse before it breaks theirs has to break; a blade where no strip is so small.
fn like(block: &Thing<'_, Block>, before: &Fuse, amperes: f64, job: &Job<'_>) -> Option<Fuse> {
    let fit = |like: &Fuse| like.form.is_some() && !ratings_up_to(like.form, amperes, job).is_empty();
    let others = block.plan().outputs.values().filter_map(|other| other.fuse.as_ref()).cloned();
    let before = Fuse { holder: None, ..before.clone() };
    let blade = Fuse { form: Some(FuseForm::BladeRegular), ..Fuse::default() };
    others.chain([before, blade]).find(fit)
}

/// A fuse like another, of a rating, for a block's output; in a holder that takes what the output does.
fn as_in(like: &Fuse, rating: f64, block: &Thing<'_, Block>, output: &str) -> Fuse {
    let takes = block.plan().outputs.get(output).and_then(|output| output.takes);
    let holder = like.holder.as_ref().and_then(|holder| {
        Some(Holder { takes: Some(takes.or(holder.takes)?), rated: Some(holder.rated?), sealed: None })
    });
    Fuse {
        form: like.form,
        rating: Some(Quantity::new(rating)),
        voltage: like.voltage,
        breaking_capacity: like.breaking_capacity,
        holder,
        ..Fuse::default()
    }
}

/// A wire that begins at a block's output, neither of which has a fuse.
pub struct Tail<'j, 'a> {
    /// The block.
    pub block: &'j Thing<'a, Block>,
    /// Its output.
    pub output: &'a str,
    /// What the wire carries, in A.
    pub carries: f64,
    /// The wire, by its place in the job's list.
    wire: usize,
}

/// A wire as a tail of a block, where it is one.
pub fn tail<'j, 'a>(wire: usize, carries: f64, job: &'j Job<'a>) -> Option<Tail<'j, 'a>> {
    let (block, output) = bare_output(&job.wires[wire], job)?;
    Some(Tail { block, output, carries, wire })
}

/// The block's output without a fuse at one end of a wire that has none either.
pub fn bare_output<'j, 'a>(wire: &Thing<'a, Wire>, job: &'j Job<'a>) -> Option<(&'j Thing<'a, Block>, &'a str)> {
    let ends = wire.plan().terminals();
    ends.filter(|_| wire.fuse.is_none() && wire.far_fuse.is_none()).find_map(|end| {
        let block = job.blocks.iter().find(|block| block.name == end.thing)?;
        let (output, stated) = block.plan().outputs.get_key_value(&end.terminal)?;
        stated.fuse.is_none().then_some((block, output.as_str()))
    })
}

/// A fuse in the output of every tail, for its wire and its load, and no larger than the maker of what it feeds allows; where
/// no strip is so small, a blade, or else the smallest strip that is made.
pub fn in_each_output(tails: &[Tail<'_, '_>], before: &Fuse, job: &Job<'_>) -> Vec<Offer> {
    let offer = |with_blades: bool| {
        let mut offer = Offer::new("");
        let mut told = Vec::new();
        for tail in tails {
            let (like, rating) = for_tail(tail, before, with_blades, job)?;
            told.push(format!("{} in `{}`", Range::<Current>::point(rating), tail.output));
            let fuse = as_in(&like, rating, tail.block, tail.output).written();
            offer = offer.set(tail.block.at(format!("outputs.{}.fuse", tail.output)), fuse);
        }
        offer.title = format!("fit a fuse in each output with a thinner wire: {}", words::all(&told));
        Some(offer)
    };
    [offer(true), offer(false)].into_iter().flatten().collect()
}

/// The kind of fuse for a tail and its rating, in A.
fn for_tail(tail: &Tail<'_, '_>, before: &Fuse, with_blades: bool, job: &Job<'_>) -> Option<(Fuse, f64)> {
    let wire = job.wires[tail.wire].plan();
    let fed = wire.terminals().find_map(|end| job.amplifier(&end.thing));
    let maximum = fed.and_then(|amplifier| amplifier.maximum_fuse).map_or(f64::INFINITY, Quantity::base);
    let most = maximum.min(tail.carries);
    let least = job.fuse_asked_in(tail.wire).map_or(0.0, Range::high) * (1.0 - 1e-9);
    let largest = |like: &Fuse| ratings_up_to(like.form, most, job).into_iter().next();
    let like =
        if with_blades { like(tail.block, before, most, job)? } else { like(tail.block, before, tail.carries, job)? };
    let smallest = || ratings(like.form, job).into_iter().find(|rating| *rating <= tail.carries && *rating >= least);
    let rating = largest(&like).or_else(smallest).filter(|rating| *rating >= least)?;
    Some((like, rating))
}
