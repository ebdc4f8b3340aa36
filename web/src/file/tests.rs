use super::*;
use crate::inputs::{Depth, Digits, Figures, RouteChoice};

/// The buoy's sheet, with every key.
const WHOLE: &str = "\
# The buoy that leans

```sheet
course: Differential equations
date: 4 May
version: 2
author: harbor workshop
```

The buoy rights itself.

```ivp
y'' = -y + k y^3
y(0) = 1/2, y'(0) = 1
title: Without damping
degree: first 4 non-zero terms
formula: y = sin t
from: -1
to: pi/2
beside: y(0) = 1
numbers: k = 1/6
route: standing
depth: rules
figures: decimals
digits: 30
unknown: y
across: y
up: y
show: ledger, how far
tolerance: 0.001
ask: which terms vanish?
room: 12
marks: order-2 = 3, polynomial = 2
reason order-2: put in the data
remark order-3: mind the sign
```

- one
- two
";

fn parsed(text: &str) -> (Document, Vec<String>) {
    let (document, notes) = parse(text);
    let said = notes.iter().map(|note| {
        let (line, column) = position(text, note.start);
        let what = text.get(note.start..note.end).unwrap_or("?");
        format!("{} {line}:{column} `{what}`", note.code)
    });
    (document, said.collect())
}

fn only(text: &str) -> (ProblemBlock, Vec<String>) {
    let (document, said) = parsed(text);
    let mut problems = document.problems();
    let found = problems.next().cloned().unwrap_or_default();
    assert!(problems.next().is_none(), "{text}");
    (found, said)
}

fn plain(mut document: Document) -> Document {
    for part in &mut document.parts {
        if let Part::Problem(block) = part {
            block.places = Places::default();
        }
    }
    document
}

#[test]
fn every_key_is_read_and_written_as_it_was() {
    let (document, said) = parsed(WHOLE);
    assert!(said.is_empty(), "{said:?}");
    assert_eq!(document.write(), WHOLE);
    assert_eq!(document.title, "The buoy that leans");
    assert_eq!(document.course, "Differential equations");
    assert_eq!(document.date, "4 May");
    assert_eq!(
        (document.version.as_str(), document.author.as_str()),
        ("2", "harbor workshop")
    );
    assert_eq!(document.parts.len(), 3);
    let block = document.problems().next().unwrap();
    let inputs = &block.inputs;
    assert_eq!(inputs.equation, "y'' = -y + k y^3");
    assert_eq!(inputs.conditions, "y(0) = 1/2, y'(0) = 1");
    assert_eq!(inputs.numbers, [("k".to_owned(), "1/6".to_owned())]);
    assert_eq!(inputs.route, RouteChoice::Standing);
    assert_eq!(
        (inputs.depth, inputs.figures),
        (Depth::Rules, Figures::Decimals)
    );
    assert_eq!(inputs.digits, Digits::Thirty);
    assert_eq!((inputs.from.as_str(), inputs.to.as_str()), ("-1", "pi/2"));
    assert_eq!(block.show, ["ledger", "how far"]);
    assert_eq!((block.room, block.all_marks()), (Some(12), 5));
    assert_eq!(
        block.marks,
        [("order-2".to_owned(), 3), ("polynomial".to_owned(), 2)]
    );
    assert_eq!(
        block.rewordings,
        [("order-2".to_owned(), "put in the data".to_owned())]
    );
    assert_eq!(
        block.remarks,
        [("order-3".to_owned(), "mind the sign".to_owned())]
    );
    // Every key of the table is in this file: none is forgotten by reader or writer.
    for key in KEYS
        .iter()
        .filter(|key| !["equation", "conditions"].contains(&key.name))
    {
        let colon = if key.of_row { " " } else { ":" };
        assert!(
            WHOLE.contains(&format!("\n{}{colon}", key.name)),
            "{}",
            key.name
        );
    }
}

#[test]
fn what_a_program_makes_comes_back() {
    let mut block = ProblemBlock {
        inputs: Inputs {
            equation: "y''(0) = 2\nu' = v".into(),
            conditions: "y = 1\nu(0) = 1, v(0) = 2".into(),
            degree: "6".into(),
            ..Inputs::default()
        },
        title: "two\nlines".into(),
        ..ProblemBlock::default()
    };
    let document = Document {
        title: "Any # title".into(),
        parts: vec![
            Part::Problem(Box::new(block.clone())),
            Part::Prose("words\n\nand *more*".into()),
        ],
        ..Document::default()
    };
    block.title = "two lines".into();
    let (again, notes) = parse(&document.write());
    assert!(notes.is_empty(), "{notes:?}");
    let again = plain(again);
    assert_eq!(again.problems().next(), Some(&block));
    assert_eq!(again.title, document.title);
    assert_eq!(again.parts.get(1), document.parts.get(1));
}

#[test]
fn lines_are_told_apart_as_a_person_would() {
    for line in [
        "y(0) = 1",
        "y(0) = 1, y'(0) = 0",
        "y'(pi/2) = 1",
        "theta''(0) = 1",
        "y^(4)(0) = 1",
        "y(pi) = 0",
        "y(-1) = 2",
        "y = 2, y' = 1 at x = 0",
        "y_1(0) = 1",
    ] {
        assert!(read::is_condition(line), "{line}");
    }
    for line in [
        "y'' = x y",
        "y''(x) + y(x) = 0",
        "theta''(t) = -sin(theta(t))",
        "(4 + t^2) q'' + 3 q = 0",
        "d^2y/dx^2 = x y",
        "sin(y) y' = 1",
        "dN/dt = N (1 - N/4)",
    ] {
        assert!(!read::is_condition(line), "{line}");
    }
}

#[test]
fn mistakes_are_said_where_they_are() {
    for (lines, expected) in [
        ("y' = y\ndegre: 5", "unknown-key 3:1 `degre`"),
        ("y' = y\nroute: sideways", "unknown-value 3:8 `sideways`"),
        (
            "y' = y\nshow: ledger, pictures",
            "unknown-value 3:15 `pictures`",
        ),
        ("y' = y\nroom: many", "not-a-number 3:7 `many`"),
        ("y' = y\nroom: 99999", "not-a-number 3:7 `99999`"),
        ("y' = y\nmarks: order 2 = x", "not-a-number 3:18 `x`"),
        ("y' = y\nmarks: order 2", "no-pair 3:8 `order 2`"),
        ("y' = y\nreason: x", "key-form 3:1 `reason`"),
        ("y' = y\ndegree two: x", "key-form 3:1 `degree two`"),
        ("degree: 4", "no-equation 1:1 ````ivp`"),
    ] {
        let (_, said) = only(&format!("```ivp\n{lines}\n```\n"));
        assert_eq!(said, [expected], "{lines}");
    }
    let (_, said) = parsed("```sheet\nwords\nkourse: x\n```\n```sheet\n```\n```ivp\ny' = y\n");
    assert_eq!(
        said,
        [
            "no-key 2:1 `words`",
            "unknown-key 3:1 `kourse`",
            "second-sheet 5:1 ````sheet`",
            "open-block 7:1 ````ivp`",
        ]
    );
}

#[test]
fn a_repair_removes_its_message() {
    for text in [
        "```ivp\ny' = y\ndegre: 5\n```\n",
        "```ivp\ny' = y\nroute: standin\n```\n",
        "```ivp\ny' = y\nshow: leger\n```\n",
        "```ivp\ny' = y\nroom: 70\n```\n",
        "````ivp\ny' = y",
    ] {
        let (_, notes) = parse(text);
        assert_eq!(notes.len(), 1, "{text}");
        let (_, changes) = &notes[0].repairs[0];
        let (field, start, end, with) = &changes[0];
        assert_eq!(field, FIELD);
        let mut mended = text.to_owned();
        mended.replace_range(*start..*end, with);
        assert!(parse(&mended).1.is_empty(), "{mended}");
    }
}

#[test]
fn the_solvers_messages_move_into_the_file() {
    let text = "words\n\n```ivp\nu' = v\n  v' = blub(u)\nu(0) = 1\ndegree: 70\n```\n";
    let (block, _) = only(text);
    assert_eq!(block.inputs.equation, "u' = v\nv' = blub(u)");
    let at = |field: &str, range: Range<usize>| text.get(block.places.range(field, range)).unwrap();
    assert_eq!(at("equation", 12..16), "blub");
    assert_eq!(at("conditions", 0..4), "u(0)");
    assert_eq!(at("degree", 0..2), "70");
    assert_eq!(at("candidate", 0..2), "```ivp");
    let worksheet = solver::worksheet::prepare(
        &block.inputs.request(),
        &solver::budget::Budget::PAGE,
        &mut |_| true,
    );
    let notes = crate::sheet::notes(&worksheet);
    assert!(!notes.is_empty());
    for note in notes {
        let moved = block.places.shift(&note);
        assert_eq!(moved.field, FIELD);
        assert!(block.places.content.contains(&moved.start), "{moved:?}");
    }
}

#[test]
fn a_missing_condition_becomes_a_line_of_its_own() {
    let text = "```ivp\ny' = y\n```\n";
    let (block, _) = only(text);
    let note = Note {
        code: "missing".into(),
        error: true,
        field: "conditions".into(),
        start: 0,
        end: 0,
        message: String::new(),
        repairs: vec![(
            "write it".into(),
            vec![("conditions".into(), 0, 0, "y(0) = 1".into())],
        )],
    };
    let moved = block.places.shift(&note);
    let (_, start, end, with) = &moved.repairs[0].1[0];
    let mut mended = text.to_owned();
    mended.replace_range(*start..*end, with);
    assert_eq!(mended, "```ivp\ny' = y\ny(0) = 1\n```\n");
    assert_eq!(only(&mended).0.inputs.conditions, "y(0) = 1");
}

#[test]
fn long_files_and_odd_ones_are_answered() {
    let (document, notes) = parse(&"x".repeat(LONGEST + 1));
    assert_eq!(
        (document.parts.len(), notes[0].code.as_str()),
        (0, "file-too-long")
    );
    let many = "```ivp\ny' = y\n```\n".repeat(MOST_PROBLEMS + 1);
    assert_eq!(parse(&many).1[0].code, "too-many-problems");
    for odd in [
        "",
        "#",
        "\u{feff}# T",
        "```",
        "```ivp",
        "```ivp\r\ny' = y\r\n```\r\n",
        "\u{0}",
        "# \n\n#",
    ] {
        let (document, _) = parse(odd);
        let written = document.write();
        assert_eq!(plain(parse(&written).0), plain(document), "{odd:?}");
    }
    assert_eq!(parse("\u{feff}# T").0.title, "T");
    assert_eq!(
        only("```ivp\r\ny' = y\r\ny(0) = 1\r\n```\r\n")
            .0
            .inputs
            .conditions,
        "y(0) = 1"
    );
}

/// Where a complete parser finds our blocks at top level in the first column.
fn by_library(text: &str) -> Vec<usize> {
    use pulldown_cmark::{CodeBlockKind, Event, Parser, Tag};
    let mut depth = 0;
    let mut found = Vec::new();
    for (event, range) in Parser::new(text).into_offset_iter() {
        match event {
            Event::Start(tag) => {
                if let (0, Tag::CodeBlock(CodeBlockKind::Fenced(info))) = (depth, &tag)
                    && matches!(info.split_whitespace().next(), Some("ivp" | "sheet"))
                    && (range.start == 0 || text.as_bytes().get(range.start - 1) == Some(&b'\n'))
                {
                    found.push(range.start);
                }
                depth += 1;
            }
            Event::End(_) => depth -= 1,
            _ => {}
        }
    }
    found
}

/// A small generator of its own (Vigna's splitmix64): the same documents on every run.
struct Random(u64);

impl Random {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((z ^ (z >> 31)) % u64::try_from(most).unwrap()).unwrap()
    }
}

#[test]
fn blocks_are_found_where_a_complete_parser_finds_them() {
    const LINES: &[&str] = &[
        "",
        "",
        "words",
        "more words",
        "```ivp",
        "```ivp",
        "```",
        "```",
        "````ivp",
        "````",
        "~~~ ivp",
        "~~~",
        "``` ivp x",
        " ```ivp",
        "   ```",
        "    ```ivp",
        "- item",
        "  item goes on",
        "  ```ivp",
        "1. one",
        "2) two",
        "   ```",
        "> quoted",
        "> ```ivp",
        ">",
        "# heading",
        "---",
        "<div>",
        "</div>",
        "<!-- note",
        "note -->",
        "<script>",
        "</script>",
        "<pre>",
        "</pre>",
        "***",
        "```ivp `x`",
        "\t```ivp",
        "===",
        "```sheet",
        "*",
        "- ```ivp",
        "<b>bold</b>",
        "[a]: /b",
    ];
    let mut random = Random(7);
    let (mut with, mut wrong) = (0, Vec::new());
    for _ in 0..20_000 {
        let length = 1 + random.below(9);
        let lines: Vec<&str> = (0..length)
            .map(|_| LINES[random.below(LINES.len())])
            .collect();
        let text = lines.join("\n");
        let ours: Vec<usize> = fences(&text)
            .iter()
            .map(|fence| fence.range.start)
            .collect();
        let theirs = by_library(&text);
        with += usize::from(!theirs.is_empty());
        if ours != theirs {
            wrong.push(format!("{text}\n ours {ours:?}, theirs {theirs:?}"));
        }
    }
    assert!(with > 5_000, "{with}");
    assert!(
        wrong.is_empty(),
        "{} of them, such as\n{}",
        wrong.len(),
        wrong[..wrong.len().min(6)].join("\n=====\n")
    );
}
