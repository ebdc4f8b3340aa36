use super::*;
use crate::examples::EXAMPLES;
use pulldown_cmark::{Event, HeadingLevel, Options, Parser, Tag, TagEnd};
use solver::budget::Budget;

fn settings(kind: Kind) -> Settings {
    Settings {
        kind,
        depth: Depth::Rules,
        plot: true,
        table: true,
        far: true,
        room: 7,
    }
}

fn worked(equation: &str, conditions: &str, degree: &str) -> Worksheet {
    let request = solver::worksheet::Request {
        equation: equation.into(),
        conditions: conditions.into(),
        degree: degree.into(),
        ..solver::worksheet::Request::default()
    };
    solver::worksheet::work(&request, &Budget::PAGE, &mut |_| true)
}

fn bare(worksheet: &Worksheet) -> Task<'_> {
    static BLOCK: std::sync::LazyLock<ProblemBlock> =
        std::sync::LazyLock::new(ProblemBlock::default);
    Task {
        block: &BLOCK,
        worksheet,
    }
}

fn rows(paper: &Paper) -> Vec<&Row> {
    let rows = paper.blocks.iter().filter_map(|block| match block {
        Block::Row(row) => Some(&**row),
        _ => None,
    });
    rows.collect()
}

/// The paper in every form, one text behind the other.
fn everything(paper: &Paper) -> String {
    let page: String = paper.blocks.iter().map(html::block).collect();
    [
        html::head(paper),
        page,
        html::file(paper),
        latex::write(paper, false),
        markdown::write(paper),
    ]
    .concat()
}

#[test]
fn students_sheets_have_no_checks_and_problems_no_values() {
    let mut values = 0;
    for example in EXAMPLES {
        let request = example.inputs().request();
        let worksheet = solver::worksheet::work(&request, &Budget::PAGE, &mut |_| true);
        let tasks = [bare(&worksheet)];
        let problems = blocks::paper(Head::default(), settings(Kind::Problems), &tasks);
        assert!(
            problems.blocks.iter().all(|block| matches!(
                block,
                Block::Problem { .. } | Block::Words(_) | Block::Given(_) | Block::Room(7)
            )),
            "{}",
            example.title
        );
        // What was asked stands there, and nothing that was found.
        let text = everything(&problems);
        for entry in worksheet.table.iter().flatten() {
            let names = solver::document::names::Names::of(worksheet.problem.as_ref().unwrap());
            let value = solver::document::build::formula(&entry.coefficient, &names);
            let shown = solver::document::latex::latex(&value);
            if shown.starts_with("\\frac") && entry.order > 1 {
                values += 1;
                assert!(!text.contains(&shown), "{}: {shown}", example.title);
            }
        }
        let solution = blocks::paper(Head::default(), settings(Kind::Solution), &tasks);
        let text = everything(&solution);
        for check in ["esidual", "ound twice", "arithmetic gives", "Checks"] {
            assert!(!text.contains(check), "{}: {check}", example.title);
        }
        assert!(rows(&solution).iter().all(|row| row.checked.is_none()));
        assert!(
            rows(&solution)
                .iter()
                .any(|row| row.key == "polynomial" || row.key.starts_with("polynomial-"))
        );
        let key = blocks::paper(Head::default(), settings(Kind::Key), &tasks);
        assert!(
            everything(&key).contains("Each value was found twice"),
            "{}",
            example.title
        );
    }
    assert!(values > 5, "{values}");
}

#[test]
fn the_teachers_words_marks_and_remarks_stand_at_their_rows() {
    let worksheet = worked("y'' = x y", "y(0) = 1, y'(0) = 0", "4");
    let (document, notes) = crate::file::parse(
        "```ivp\ny'' = x y\ny(0) = 1, y'(0) = 0\ntitle: The rainbow\nroom: 3\n\
         ask: Which terms vanish at $x = 0$?\nmarks: order-3 = 2, polynomial = 3\n\
         reason order-3: Once more: $y''' = y + x y'$\n\
         remark order-2: The lamp costs $5 & no <b>more</b>.\n```\n",
    );
    assert!(notes.is_empty(), "{notes:?}");
    let task = Task {
        block: document.problems().next().unwrap(),
        worksheet: &worksheet,
    };
    let tasks = [task, task];
    let key = blocks::paper(Head::default(), settings(Kind::Key), &tasks);
    let row = |key: &Paper, name: &str| {
        let found = rows(key).into_iter().find(|row| row.key == name);
        found.cloned().unwrap()
    };
    assert_eq!(row(&key, "order-3").marks, Some(2));
    assert_eq!(row(&key, "order-3").reason.formulas.len(), 1);
    assert_eq!(row(&key, "order-2").marks, None);
    let text = everything(&key);
    assert!(text.contains("(5 marks)") && text.contains("Once more"));
    assert!(!text.contains("<b>more"), "words are words");
    assert!(latex::write(&key, false).contains("\\$5 \\& no $<$b$>$more"));
    let solution = blocks::paper(Head::default(), settings(Kind::Solution), &tasks);
    assert_eq!(
        row(&solution, "order-3").marks,
        None,
        "marks stand on the key"
    );
    assert_eq!(row(&solution, "order-3").reason.formulas.len(), 1);
    assert!(row(&solution, "order-2").remark.is_some());
    let problems = blocks::paper(Head::default(), settings(Kind::Problems), &tasks);
    assert!(problems.blocks.contains(&Block::Room(3)));
    let text = everything(&problems);
    assert!(text.contains("Which terms vanish at") && text.contains("2. The rainbow"));
    assert!(!text.contains("Once more") && !text.contains("lamp costs"));
}

#[test]
fn what_only_illustrates_the_prose_is_no_problem() {
    let worksheet = worked("y'' = x y", "y(0) = 1, y'(0) = 0", "4");
    let (document, _) = crate::file::parse(
        "```ivp\ny'' = x y\ny(0) = 1, y'(0) = 0\ntitle: Seen from afar\nshow: plot\n```\n\n\
         ```ivp\ny'' = x y\ny(0) = 1, y'(0) = 0\ntitle: To work\nshow: problem, polynomial\n```\n",
    );
    let tasks: Vec<Task<'_>> = document
        .problems()
        .map(|block| Task {
            block,
            worksheet: &worksheet,
        })
        .collect();
    let titles = |paper: &Paper| -> Vec<(Option<usize>, String)> {
        let title = |block: &Block| match block {
            Block::Problem { number, title, .. } => Some((*number, title.clone())),
            _ => None,
        };
        paper.blocks.iter().filter_map(title).collect()
    };
    let lone = (None, "To work".to_owned());
    let problems = blocks::paper(Head::default(), settings(Kind::Problems), &tasks);
    assert_eq!(titles(&problems), std::slice::from_ref(&lone));
    let solution = blocks::paper(Head::default(), settings(Kind::Solution), &tasks);
    assert_eq!(
        titles(&solution),
        [(None, "Seen from afar".to_owned()), lone]
    );
    let keys: Vec<&str> = rows(&solution).iter().map(|row| row.key.as_str()).collect();
    assert_eq!(keys[0], "polynomial", "{keys:?}");
    assert!(
        keys.contains(&"order-4"),
        "the work of the problem: {keys:?}"
    );
    // A file with nothing else is one of problems.
    let alone = blocks::paper(Head::default(), settings(Kind::Problems), &tasks[..1]);
    assert_eq!(titles(&alone).len(), 1);
}

#[test]
fn what_is_asked_is_said() {
    let asked = |equation: &str, conditions: &str, degree: &str| {
        let worksheet = worked(equation, conditions, degree);
        solver::document::whole::prose_text(
            &statement::sentence(&worksheet),
            &solver::document::whole::Markdown,
        )
    };
    for (equation, conditions, degree, expected) in [
        (
            "y'' = x y",
            "y(1) = 1, y'(1) = 0",
            "4",
            "Find the Taylor polynomial of degree $4$ about $x = 1$ of the solution of the initial value problem",
        ),
        (
            "dT/dt = -k T",
            "T(0) = 90",
            "first 3 non-zero terms",
            "Find the first $3$ non-zero terms of the Taylor series about $t = 0$ of the solution of the initial value problem, in which $k$ is a constant",
        ),
        (
            "u' = v; v' = -u",
            "u(0) = 1, v(0) = 0",
            "2",
            "Find the Taylor polynomials of degree $2$ about $t = 0$ of the unknowns $u$ and $v$ of the initial value problem",
        ),
        (
            "y'' + y = 0",
            "",
            "3",
            "Find the Taylor polynomial of degree $3$ about $x = 0$ of the general solution of the equation",
        ),
    ] {
        let found = asked(equation, conditions, degree);
        assert_eq!(found, expected);
    }
}

#[test]
fn a_problem_without_an_answer_is_printed_and_says_why() {
    let worksheet = worked("y' = 1/x", "y(0) = 1", "3");
    let tasks = [bare(&worksheet)];
    let solution = blocks::paper(Head::default(), settings(Kind::Solution), &tasks);
    assert!(everything(&solution).contains("could not be worked"));
    let problems = blocks::paper(Head::default(), settings(Kind::Problems), &tasks);
    assert!(
        problems
            .blocks
            .iter()
            .any(|block| matches!(block, Block::Given(lines) if !lines.is_empty()))
    );
}

#[test]
fn words_of_a_head_are_no_source() {
    let worksheet = worked("y' = y", "y(0) = 1", "2");
    let head = Head {
        title: "\\input{x} # *a* <script>".into(),
        course: "100 % & _more_\n\\end{document}".into(),
        date: "Жук α".into(),
        version: "[a](b)".into(),
    };
    let paper = blocks::paper(head, settings(Kind::Key), &[bare(&worksheet)]);
    let source = latex::write(&paper, true);
    assert!(!source.contains("\\input{x}") && source.matches("\\end{document}").count() == 1);
    assert!(
        source.contains("[U+0416]")
            && source.contains("$\\alpha$")
            && source.contains("letterpaper")
    );
    assert!(!html::file(&paper).contains("<script") && !html::head(&paper).contains("<script"));
    let mut heading = String::new();
    let mut inside = false;
    for event in Parser::new_ext(
        &markdown::write(&paper),
        Options::ENABLE_MATH | Options::ENABLE_TABLES,
    ) {
        match event {
            Event::Start(Tag::Heading {
                level: HeadingLevel::H1,
                ..
            }) => inside = true,
            Event::End(TagEnd::Heading(HeadingLevel::H1)) => inside = false,
            Event::Text(text) if inside => heading.push_str(&text),
            Event::Html(html) | Event::InlineHtml(html) => panic!("{html}"),
            Event::Start(Tag::Link { .. } | Tag::CodeBlock(_)) => panic!("not asked for"),
            _ => {}
        }
    }
    assert_eq!(heading, "\\input{x} # *a* <script>");
}

#[test]
fn markdown_holds_every_row_table_and_formula() {
    for example in EXAMPLES {
        let request = example.inputs().request();
        let worksheet = solver::worksheet::work(&request, &Budget::PAGE, &mut |_| true);
        let paper = blocks::paper(
            Head::default(),
            settings(Kind::Solution),
            &[bare(&worksheet)],
        );
        let tables = paper
            .blocks
            .iter()
            .filter(|b| matches!(b, Block::Table(_)))
            .count();
        let plane = picture::plane(&worksheet).into_iter();
        let drawn: Vec<_> = plane.chain(picture::figures(&worksheet)).collect();
        let (mut items, mut found, mut math, mut pictures) = (0, 0, 0, Vec::new());
        let text = markdown::write(&paper);
        for event in Parser::new_ext(&text, Options::ENABLE_MATH | Options::ENABLE_TABLES) {
            match event {
                Event::Start(Tag::Item) => items += 1,
                Event::Start(Tag::Table(_)) => found += 1,
                Event::InlineMath(_) => math += 1,
                Event::Start(Tag::Image { dest_url, .. }) => pictures.push(dest_url.to_string()),
                Event::Text(words) => assert!(!words.contains('$'), "{words}"),
                _ => {}
            }
        }
        assert_eq!(
            (items, found),
            (rows(&paper).len(), tables),
            "{}",
            example.title
        );
        assert!(math > items);
        assert_eq!(pictures.len(), drawn.len(), "{}", example.title);
        for (address, figure) in pictures.iter().zip(&drawn) {
            let strokes = address.strip_prefix("data:image/svg+xml,").unwrap();
            let plain: String = crate::address::pairs(&format!("svg={strokes}"))
                .map(|(_, value)| value)
                .collect();
            assert_eq!(plain, figure.svg);
        }
    }
}

#[test]
fn tables_are_csv() {
    let worksheet = worked("y'' = x y", "y(0) = 1, y'(0) = 0", "6");
    let tasks = [bare(&worksheet)];
    let text = csv::coefficients(&tasks);
    let lines: Vec<&str> = text.split("\r\n").collect();
    assert_eq!(lines[0], "problem,unknown,order,value,coefficient,decimal");
    assert_eq!(lines[7], "1,y,6,4,1/180,0.00555555555555556");
    assert_eq!(lines.len(), 9);
    let text = csv::values(&tasks);
    let widths: Vec<usize> = text
        .trim_end()
        .split("\r\n")
        .map(|line| line.split(',').count())
        .collect();
    assert!(
        widths.len() > 10 && widths.iter().all(|width| *width == 5 + 14),
        "{widths:?}"
    );
    let center = text
        .split("\r\n")
        .find(|line| line.starts_with("1,y,0,"))
        .unwrap();
    assert!(center.ends_with(",1.00000000000000,0"), "{center}");
    assert!(center.contains(",guaranteed,"), "{center}");
}

/// A stroke of the picture is where it is in the SVG.
#[test]
fn pictures_keep_their_strokes() {
    // Singular points of each kind of mark: (x² + 1)(x − 1) y″ + y = 0.
    let worksheet = worked("(x^2 + 1)(x - 1) y'' + y = 0", "y(0) = 1, y'(0) = 0", "3");
    let mut figures = picture::figures(&worksheet);
    assert_eq!(figures.len(), 2);
    figures.extend(picture::plane(&worksheet));
    let paper = blocks::paper(
        Head::default(),
        settings(Kind::Solution),
        &[bare(&worksheet)],
    );
    let source = latex::write(&paper, false);
    assert_eq!(source.matches("\\begin{picture}").count(), 3);
    let circles: usize = figures
        .iter()
        .map(|figure| figure.svg.matches("<circle").count())
        .sum();
    assert_eq!(source.matches("\\circle*").count(), circles);
    let texts = figures
        .iter()
        .map(|figure| figure.svg.matches("<text").count())
        .sum::<usize>();
    assert_eq!(source.matches("\\makebox(0,0)").count(), texts);
    assert!(source.matches("\\qbezier").count() > 100);
}
