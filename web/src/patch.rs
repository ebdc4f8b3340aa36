//! Brings what is on the page to what is to be there, a little at a time: unchanged elements are
//! left alone, changed ones change in their places, and the work stops when the frame's allowance
//! is spent. Called again with the same arguments it goes on where it stopped, because what it has
//! done is noted in `shown`.

use crate::markup::{Content, Markup};
use std::ops::Range;

/// An element of the page.
pub trait Place: Sized {
    /// Its first child.
    fn first(&self) -> Option<Self>;
    /// The sibling behind it.
    fn next(&self) -> Option<Self>;
    /// Puts one element, written as HTML, before a child or at the end; the new child.
    fn insert(&self, before: Option<&Self>, html: &str) -> Option<Self>;
    /// Takes it off the page.
    fn remove(&self);
    /// Replaces what is inside.
    fn set_html(&self, html: &str);
    /// Sets or removes an attribute.
    fn set(&self, name: &str, value: Option<&str>);
}

/// What may be spent in one frame, in the unit of [`Markup::cost`].
#[derive(Clone, Copy, Debug)]
pub struct Allowance {
    whole: usize,
    left: usize,
    /// Costs are divided by this.
    cheaper: usize,
    /// Has anything been done?
    pub used: bool,
}

/// Removing an element and changing an attribute cost little, but not nothing.
const SMALL: usize = 60;

impl Allowance {
    /// A frame's allowance.
    pub fn new(whole: usize) -> Self {
        Self {
            whole,
            left: whole,
            cheaper: 1,
            used: false,
        }
    }

    /// Takes a cost off; `false`, and nothing is left, when it must wait for another frame. A cost
    /// larger than the whole is granted to the first that asks.
    fn take(&mut self, cost: usize) -> bool {
        let cost = cost / self.cheaper;
        let granted = cost <= self.left || !self.used;
        self.left = if granted {
            self.left.saturating_sub(cost)
        } else {
            0
        };
        self.used |= granted;
        granted
    }
}

/// What is far out of sight is read by the browser, but neither laid out nor painted.
const FAR: usize = 8;

/// Like [`patch`], where only the children in the range `seen` are in sight or near it.
pub fn patch_seen<P: Place>(
    place: &P,
    shown: &mut Vec<Markup>,
    wanted: &[Markup],
    seen: &Range<usize>,
    allowance: &mut Allowance,
) -> bool {
    let done = go(place, shown, wanted, Some(seen), allowance);
    allowance.cheaper = 1;
    done
}

/// Brings the children of `place`, which are `shown`, nearer to `wanted`; are they there?
pub fn patch<P: Place>(
    place: &P,
    shown: &mut Vec<Markup>,
    wanted: &[Markup],
    allowance: &mut Allowance,
) -> bool {
    go(place, shown, wanted, None, allowance)
}

fn go<P: Place>(
    place: &P,
    shown: &mut Vec<Markup>,
    wanted: &[Markup],
    seen: Option<&Range<usize>>,
    allowance: &mut Allowance,
) -> bool {
    let mut child = place.first();
    for (at, new) in wanted.iter().enumerate() {
        if let Some(seen) = seen {
            allowance.cheaper = if seen.contains(&at) { 1 } else { FAR };
        }
        if shown.get(at) != Some(new) {
            let later = shown.iter().skip(at).position(|old| old.is_same(new));
            match later {
                Some(between) => {
                    if !remove(&mut child, shown, at, between, allowance) {
                        return false;
                    }
                }
                None if becomes(shown.get(at), new, wanted.get(at + 1..)) => {}
                None => {
                    let Some(entry) = granted(new, allowance) else {
                        return false;
                    };
                    child = place.insert(child.as_ref(), &entry.html());
                    shown.insert(at.min(shown.len()), entry);
                }
            }
            if let (Some(element), Some(old)) = (&child, shown.get_mut(at))
                && !alter(element, old, new, allowance)
            {
                return false;
            }
        }
        child = child.and_then(|element| element.next());
    }
    let surplus = shown.len().saturating_sub(wanted.len());
    remove(&mut child, shown, wanted.len(), surplus, allowance)
}

/// Does an old element turn into a new one in its place? Not if it is still wanted further on; but
/// an empty one is, as far as can be told, the new one itself, put there in the frame before and to
/// be filled now: to look upon it as another would put a new one there in every frame.
fn becomes(old: Option<&Markup>, new: &Markup, further: Option<&[Markup]>) -> bool {
    old.is_some_and(|old| {
        old.tag == new.tag
            && old.key().is_none()
            && new.key().is_none()
            && (matches!(&old.content, Content::Parts(parts) if parts.is_empty())
                || !further
                    .unwrap_or_default()
                    .iter()
                    .any(|later| old.is_same(later)))
    })
}

/// What of a new element is put on the page now: all of it, or, if that is too much for any frame,
/// the empty element.
fn granted(new: &Markup, allowance: &mut Allowance) -> Option<Markup> {
    let cost = new.cost();
    let bit_by_bit =
        cost / allowance.cheaper > allowance.whole && matches!(new.content, Content::Parts(_));
    if !allowance.take(if bit_by_bit { SMALL } else { cost }) {
        return None;
    }
    let mut entry = new.clone();
    if bit_by_bit {
        entry.content = Content::Parts(Vec::new());
    }
    Some(entry)
}

/// Removes so many children, the first of which is `child`; `child` is then the one behind them.
fn remove<P: Place>(
    child: &mut Option<P>,
    shown: &mut Vec<Markup>,
    at: usize,
    count: usize,
    allowance: &mut Allowance,
) -> bool {
    for _ in 0..count {
        let cost = shown.get(at).map_or(0, |old| SMALL + old.cost() / 4);
        if !allowance.take(cost) {
            return false;
        }
        if at < shown.len() {
            shown.remove(at);
        }
        if let Some(element) = child.take() {
            *child = element.next();
            element.remove();
        }
    }
    true
}

fn alter<P: Place>(element: &P, old: &mut Markup, new: &Markup, allowance: &mut Allowance) -> bool {
    if old.attributes != new.attributes {
        if !allowance.take(SMALL) {
            return false;
        }
        for (name, _) in &old.attributes {
            if new.attribute(name).is_none() {
                element.set(name, None);
            }
        }
        for (name, value) in &new.attributes {
            if old.attribute(name) != Some(value) {
                element.set(name, Some(value));
            }
        }
        old.attributes.clone_from(&new.attributes);
    }
    old.detail = new.detail;
    match (&mut old.content, &new.content) {
        (Content::Parts(shown), Content::Parts(wanted)) => patch(element, shown, wanted, allowance),
        (shown, wanted) if shown == wanted => true,
        (shown, _) => {
            let Some(entry) = granted(new, allowance) else {
                return false;
            };
            element.set_html(&entry.inner_html());
            *shown = entry.content;
            match (shown, &new.content) {
                (Content::Parts(shown), Content::Parts(wanted)) => {
                    patch(element, shown, wanted, allowance)
                }
                _ => true,
            }
        }
    }
}

#[cfg(test)]
mod tests;
