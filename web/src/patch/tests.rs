use super::*;
use std::cell::RefCell;
use std::rc::Rc;

/// A page of its own: elements with their HTML as text, and a count of what was done to them.
#[derive(Default)]
struct Node {
    html: String,
    attributes: Vec<(String, String)>,
    children: Vec<Fake>,
    parent: Option<Fake>,
}

#[derive(Clone)]
struct Fake {
    node: Rc<RefCell<Node>>,
    done: Rc<RefCell<Vec<String>>>,
}

impl Fake {
    fn root() -> Self {
        Self {
            node: Rc::default(),
            done: Rc::default(),
        }
    }

    fn note(&self, what: impl Into<String>) {
        self.done.borrow_mut().push(what.into());
    }

    /// Reads one of our own elements: `<tag a="b">…</tag>`.
    fn read(&self, html: &str) -> Self {
        let (open, rest) = html[1..].split_once('>').unwrap();
        let (tag, attributes) = open.split_once(' ').unwrap_or((open, ""));
        let made = Self {
            node: Rc::default(),
            done: Rc::clone(&self.done),
        };
        made.node.borrow_mut().attributes = attributes
            .split("\" ")
            .filter_map(|one| one.split_once("=\""))
            .map(|(name, value)| (name.to_owned(), value.trim_end_matches('"').to_owned()))
            .collect();
        made.fill(rest.strip_suffix(&format!("</{tag}>")).unwrap());
        made
    }

    fn fill(&self, html: &str) {
        self.node.borrow_mut().children.clear();
        self.node.borrow_mut().html.clear();
        // Only elements that stand on their own at this level count as children.
        let mut rest = html;
        while let Some(open) = rest.strip_prefix('<') {
            let tag = open.split([' ', '>']).next().unwrap();
            let (mut depth, mut at) = (0_usize, 0);
            loop {
                let next = at + rest[at..].find(tag).unwrap();
                if rest[..next].ends_with("</") {
                    depth -= 1;
                } else if rest[..next].ends_with('<') {
                    depth += 1;
                }
                at = next + tag.len();
                if depth == 0 {
                    break;
                }
            }
            let child = self.read(&rest[..=at]);
            child.node.borrow_mut().parent = Some(self.clone());
            self.node.borrow_mut().children.push(child);
            rest = &rest[at + 1..];
        }
        self.node.borrow_mut().html = rest.to_owned();
    }

    fn text(&self) -> String {
        let node = self.node.borrow();
        let inside: String = node.children.iter().map(Fake::text).collect();
        format!("[{:?}{inside}{}]", node.attributes, node.html)
    }
}

impl Place for Fake {
    fn first(&self) -> Option<Self> {
        self.node.borrow().children.first().cloned()
    }
    fn next(&self) -> Option<Self> {
        let parent = self.node.borrow().parent.clone()?;
        let parent = parent.node.borrow();
        let at = parent
            .children
            .iter()
            .position(|child| Rc::ptr_eq(&child.node, &self.node))?;
        parent.children.get(at + 1).cloned()
    }
    fn insert(&self, before: Option<&Self>, html: &str) -> Option<Self> {
        self.note(format!("insert {html}"));
        let child = self.read(html);
        child.node.borrow_mut().parent = Some(self.clone());
        let mut node = self.node.borrow_mut();
        let at = before.map_or(node.children.len(), |before| {
            node.children
                .iter()
                .position(|one| Rc::ptr_eq(&one.node, &before.node))
                .unwrap()
        });
        node.children.insert(at, child.clone());
        Some(child)
    }
    fn remove(&self) {
        self.note("remove");
        let parent = self.node.borrow().parent.clone().unwrap();
        parent
            .node
            .borrow_mut()
            .children
            .retain(|one| !Rc::ptr_eq(&one.node, &self.node));
    }
    fn set_html(&self, html: &str) {
        self.note(format!("html {html}"));
        self.fill(html);
    }
    fn set(&self, name: &str, value: Option<&str>) {
        self.note(format!("set {name}"));
        let mut node = self.node.borrow_mut();
        node.attributes.retain(|(known, _)| known != name);
        if let Some(value) = value {
            node.attributes.push((name.into(), value.into()));
        }
    }
}

fn line(terms: &[&str]) -> Markup {
    Markup::around(
        "div",
        "",
        terms
            .iter()
            .map(|term| Markup::leaf("span", "", *term))
            .collect(),
    )
}

fn row(key: &str, lines: Vec<Markup>) -> Markup {
    Markup::around("div", "", lines).keyed(key)
}

/// A page that shows this.
fn page(rows: &[Markup]) -> (Fake, Vec<Markup>) {
    let (place, mut shown) = (Fake::root(), Vec::new());
    assert!(patch(
        &place,
        &mut shown,
        rows,
        &mut Allowance::new(1 << 20)
    ));
    assert_eq!(place.text(), fresh(rows));
    place.done.borrow_mut().clear();
    (place, shown)
}

fn fresh(rows: &[Markup]) -> String {
    let place = Fake::root();
    place.fill(&crate::markup::html(rows));
    place.text()
}

/// What is done to get from one to the other.
fn steps(old: &[Markup], new: &[Markup]) -> Vec<String> {
    let (place, mut shown) = page(old);
    assert!(patch(&place, &mut shown, new, &mut Allowance::new(1 << 20)));
    assert_eq!(shown, new);
    assert_eq!(place.text(), fresh(new));
    place.done.take()
}

#[test]
fn what_has_not_changed_is_left_alone() {
    let rows = [row("a", vec![line(&["x", "y"])]), row("b", vec![])];
    assert_eq!(steps(&rows, &rows), [""; 0]);
}

#[test]
fn only_the_changed_term_changes() {
    let old = [row("a", vec![line(&["x", "2", "z"]), line(&["u"])])];
    let new = [row("a", vec![line(&["x", "3", "z"]), line(&["u"])])];
    assert_eq!(steps(&old, &new), ["html 3"]);
}

#[test]
fn insertions_and_removals_leave_their_neighbours_alone() {
    let short = [row("a", vec![line(&["x", "z"])])];
    let long = [row("a", vec![line(&["x", "y", "z"])])];
    assert_eq!(steps(&short, &long), ["insert <span>y</span>"]);
    assert_eq!(steps(&long, &short), ["remove"]);
}

#[test]
fn a_term_with_a_new_number_keeps_its_formula() {
    let term = |id: &str| Markup::leaf("span", "t", "y′").with("data-term", id);
    assert_eq!(steps(&[term("3")], &[term("4")]), ["set data-term"]);
}

#[test]
fn rows_keep_their_identity() {
    let rows = |keys: &[&str]| -> Vec<Markup> {
        keys.iter()
            .map(|key| row(key, vec![line(&[key])]))
            .collect()
    };
    let done = steps(&rows(&["a", "b", "c", "d"]), &rows(&["a", "c", "e", "d"]));
    assert_eq!(done.len(), 2, "{done:?}");
    assert_eq!(steps(&rows(&["a", "b"]), &rows(&["b"])), ["remove"]);
}

#[test]
fn work_is_cut_into_frames_and_always_ends() {
    let old: Vec<Markup> = (0..6)
        .map(|n| row(&format!("r{n}"), vec![line(&["x"; 20]), line(&["1", "2"])]))
        .collect();
    let new: Vec<Markup> = (2..9)
        .map(|n| row(&format!("r{n}"), vec![line(&["y"; 30]), line(&["2"])]))
        .collect();
    for whole in [1, 100, 700, 5000] {
        let (place, mut shown) = page(&old);
        let mut frames = 0;
        let mut most = 0;
        loop {
            let before = place.done.borrow().len();
            let mut allowance = Allowance::new(whole);
            let done = patch(&place, &mut shown, &new, &mut allowance);
            most = most.max(place.done.borrow().len() - before);
            frames += 1;
            assert!(frames < 2000, "{whole}");
            if done {
                break;
            }
            assert!(
                allowance.used,
                "a frame that does nothing would go on for ever"
            );
        }
        assert_eq!(place.text(), fresh(&new), "{whole}");
        assert!(most <= 1 + whole / 25, "{most} steps of a frame of {whole}");
    }
}

#[test]
fn more_is_done_in_a_frame_where_nobody_sees_it() {
    let rows = |letter: &str| -> Vec<Markup> {
        let one = |n| {
            row(
                &format!("r{n}"),
                vec![Markup::leaf("p", "", letter.repeat(800))],
            )
        };
        (0..5).map(one).collect()
    };
    let frames = |seen: Option<Range<usize>>| {
        let (place, mut shown) = page(&rows("x"));
        let wanted = rows("y");
        let mut count = 1;
        loop {
            let mut allowance = Allowance::new(1000);
            let done = match &seen {
                Some(seen) => patch_seen(&place, &mut shown, &wanted, seen, &mut allowance),
                None => patch(&place, &mut shown, &wanted, &mut allowance),
            };
            if done {
                assert_eq!(place.text(), fresh(&wanted));
                return count;
            }
            count += 1;
        }
    };
    assert_eq!((frames(None), frames(Some(0..5))), (5, 5));
    assert_eq!((frames(Some(1..3)), frames(Some(9..9))), (3, 1));
}

#[test]
fn what_came_with_the_page_is_replaced() {
    let unknown = Markup::leaf("div", "", "").keyed("a");
    let wanted = [row("a", vec![line(&["x", "y"])])];
    let place = Fake::root();
    place.fill("<div data-key=\"a\"><p>old</p></div>");
    let mut shown = vec![unknown];
    assert!(patch(
        &place,
        &mut shown,
        &wanted,
        &mut Allowance::new(1000)
    ));
    assert_eq!(place.text(), fresh(&wanted));
}

#[test]
fn what_grows_bit_by_bit_is_not_taken_for_an_empty_element_further_on() {
    let empty = || Markup::around("div", "", Vec::new());
    // No term fits into a frame beside the element around it.
    let term = "x".repeat(150);
    let new = [row("a", vec![line(&[term.as_str(); 9]), empty()])];
    let (place, mut shown) = page(&[row("b", vec![line(&["1"])])]);
    for _ in 0..200 {
        if patch(&place, &mut shown, &new, &mut Allowance::new(200)) {
            break;
        }
    }
    assert_eq!(place.text(), fresh(&new));
}
