use super::*;
use crate::binary::{
    CODE, DATA, ELEMENTS, EXPORTS, FUNCTIONS, GLOBALS, IMPORTS, MEMORIES, Reader, START, TABLES,
    TYPES,
};

/// Longer than tiny: does nothing.
const NOTHING: [u8; TINY] = [0x01; TINY];

fn counted(all: &[&[u8]]) -> Vec<u8> {
    let mut out = vec![u8::try_from(all.len()).unwrap()];
    for one in all {
        out.extend_from_slice(one);
    }
    out
}

/// A function's code: no variables, some instructions, and nothing that counts.
fn long(instructions: &[u8]) -> Vec<u8> {
    [&[0], instructions, &NOTHING, &[0x0b]].concat()
}

/// One imported function (0) and six own ones. 1 is exported and calls 2, which takes two numbers and
/// calls 3, 5 and 6; 4 stands in the table and calls the imported one; 5 calls 4; 6 calls nothing.
fn module() -> Vec<u8> {
    let mut out = b"\0asm\x01\0\0\0".to_vec();
    let takes_two = &[0x60, 2, 0x7f, 0x7f, 1, 0x7f][..];
    write_section(TYPES, &counted(&[&[0x60, 0, 0], takes_two]), &mut out);
    write_section(IMPORTS, &[1, 1, b'm', 1, b'f', 0, 0], &mut out);
    write_section(FUNCTIONS, &[6, 0, 1, 0, 0, 0, 0], &mut out);
    write_section(TABLES, &[1, 0x70, 1, 2, 2], &mut out);
    write_section(MEMORIES, &[1, 0, 1], &mut out);
    write_section(GLOBALS, &[1, 0x7f, 1, 0x41, 8, 0x0b], &mut out);
    write_section(EXPORTS, &[1, 1, b'a', 0, 1], &mut out);
    write_section(ELEMENTS, &[1, 0, 0x41, 1, 0x0b, 1, 4], &mut out);
    let bodies = [
        long(&[0x41, 0, 0x41, 0, 0x10, 2, 0x1a]),
        long(&[0x10, 3, 0x10, 5, 0x10, 6, 0x41, 0]),
        long(&[]),
        long(&[0x10, 0]),
        long(&[0x10, 4]),
        long(&[0x01]),
    ];
    let mut code = vec![6];
    for body in &bodies {
        write_body(body, &mut code);
    }
    write_section(CODE, &code, &mut out);
    let data = [&[1, 0, 0x41, 10, 0x0b, 4][..], b"abcd"].concat();
    write_section(DATA, &data, &mut out);
    out
}

fn parts(later: &[usize], data: &[Range<usize>]) -> Option<Parts> {
    let function = |function: usize| later.contains(&function);
    let later = Later {
        function: &function,
        data: &|_| data.to_vec(),
    };
    split(&module(), "m", "mark", &later)
}

/// The content of a section.
fn content(module: &[u8], wanted: u8) -> Vec<u8> {
    let mut reader = Reader::new(module);
    reader.take(8).unwrap();
    loop {
        let (section, content) = reader.section().unwrap();
        if section == wanted {
            return content.to_vec();
        }
    }
}

/// The functions' code.
fn code(module: &[u8]) -> Vec<Vec<u8>> {
    let content = content(module, CODE);
    let mut reader = Reader::new(&content);
    (0..reader.number().unwrap())
        .map(|_| {
            let length = reader.number().unwrap();
            reader.take(length).unwrap().to_vec()
        })
        .collect()
}

#[test]
fn what_is_listed_and_what_only_it_calls_comes_later() {
    let Parts { first, second } = parts(&[2], &[]).unwrap();
    // Functions of the first part: 0 and 1 are imported, 2 asks for the second part, 3 was 1, 4 was 4.
    // The second part's 2 has place 2 in the table.
    assert_eq!(
        code(&first),
        [
            vec![0, 0x23, 1, 0x45, 0x04, 0x40, 0x10, 1, 0x0b, 0x0b],
            long(&[0x41, 0, 0x41, 0, 0x10, 2, 0x41, 2, 0x11, 1, 0, 0x1a]),
            long(&[0x10, 0]),
        ]
    );
    assert_eq!(content(&first, TABLES), [1, 0x70, 1, 3, 3]);
    assert_eq!(content(&first, ELEMENTS), [1, 0, 0x41, 1, 0x0b, 1, 4]);
    // Own functions of the second part: 0 was 2, 1 was 3, 2 was 5, 3 was 6; 4 starts. What 5 calls
    // is at place 1 of the table.
    assert_eq!(
        code(&second)[0],
        long(&[0x10, 1, 0x10, 2, 0x10, 3, 0x41, 0])
    );
    assert_eq!(code(&second)[2], long(&[0x41, 1, 0x11, 0, 0]));
    assert_eq!(code(&second)[4], [0, 0x41, 1, 0x24, 1, 0x0b]);
    assert_eq!(content(&second, START), [4]);
    assert_eq!(content(&second, ELEMENTS), [1, 0, 0x41, 2, 0x0b, 1, 0]);
}

#[test]
fn what_stands_in_the_table_keeps_its_place() {
    let Parts { first, second } = parts(&[4], &[]).unwrap();
    assert_eq!(content(&first, TABLES), [1, 0x70, 1, 3, 3]);
    // Its stub calls place 1.
    let stub = [0, 0x10, 2, 0x41, 1, 0x11, 0, 0, 0x0b];
    assert_eq!(code(&first)[4], stub);
    // The second part calls the imported function by its place behind the others.
    assert_eq!(content(&first, ELEMENTS), [1, 0, 0x41, 1, 0x0b, 2, 6, 0]);
    assert_eq!(code(&second)[0], long(&[0x41, 2, 0x11, 0, 0]));
    assert_eq!(content(&second, ELEMENTS), [1, 0, 0x41, 1, 0x0b, 1, 0]);
}

#[test]
fn what_is_short_and_calls_nothing_is_in_both_parts() {
    // The table calls 4, which stays; 2 and 5 call nothing else of the first part.
    let shared = |function: usize| function == 2 || function == 5;
    let module = module();
    let module = Module::read(&module).unwrap();
    let second = second_functions(&module, &shared);
    assert_eq!(second, BTreeSet::from([2, 3, 5, 6]));
    let mut all = second;
    // Were 6 called by the first part, too:
    all.remove(&6);
    let plan = Plan::new(&module, all, "mark", &[]).unwrap();
    assert_eq!(plan.copied, BTreeSet::from([6]));
    assert!(!plan.place_of.contains_key(&6));
    let second = second::write(&plan).unwrap();
    assert_eq!(code(&second)[3], long(&[0x01]));
    assert_eq!(code(&second).len(), 5);
}

#[test]
fn data_that_come_later_leave_zeros() {
    let Parts { first, second } = parts(&[2], &[11..12, 12..13]).unwrap();
    assert_eq!(content(&first, DATA), *b"\x01\0\x41\x0a\x0b\x04a\0\0d");
    assert_eq!(
        content(&second, DATA),
        *b"\x02\0\x41\x0b\x0b\x01b\0\x41\x0c\x0b\x01c"
    );
}

#[test]
fn parts_of_different_modules_cannot_be_joined() {
    let Parts { first, second } = parts(&[2], &[]).unwrap();
    let named = |section: &[u8]| section.windows(5).any(|run| run == b"\x04mark");
    assert!(named(&content(&first, EXPORTS)) && named(&content(&second, IMPORTS)));
}

#[test]
fn what_is_cut_or_not_worth_it_is_refused() {
    assert!(parts(&[], &[]).is_none());
    let whole = module();
    let end_of_code = whole.len() - content(&whole, DATA).len() - 2;
    for length in 0..end_of_code {
        let later = Later {
            function: &|function| function == 2,
            data: &|_| Vec::new(),
        };
        let cut = split(whole.get(..length).unwrap(), "m", "mark", &later);
        assert!(cut.is_none(), "{length}");
    }
}

/// A linked module with two functions and two pieces of constant data: the first function reads the
/// first piece, in which the other one is named if `chained`; the second function reads the other one.
fn linked(chained: bool) -> Vec<u8> {
    let mut out = b"\0asm\x01\0\0\0".to_vec();
    // Each function: no variables, a constant of five bytes, dropped.
    let body = [9, 0, 0x41, 0x80, 0x80, 0x80, 0x80, 0, 0x1a, 0x0b];
    write_section(CODE, &[&[2][..], &body, &body].concat(), &mut out);
    let data = [&[1, 0, 0x41, 10, 0x0b, 8][..], b"abcdefgh"].concat();
    write_section(DATA, &data, &mut out);
    let symbols = counted(&[&[1, 0, 1, b'a', 0, 0, 4], &[1, 0, 1, b'b', 0, 4, 4]]);
    let segments = counted(&[b"\x07.rodata\0\0"]);
    let mut linking = b"\x07linking\x02".to_vec();
    write_section(8, &symbols, &mut linking);
    write_section(5, &segments, &mut linking);
    write_section(0, &linking, &mut out);
    // Places of the constants in the section of code, which symbol, nothing added.
    let code = [&b"\x0areloc.CODE\0\x02"[..], &[4, 4, 0, 0, 4, 14, 1, 0]].concat();
    write_section(0, &code, &mut out);
    if chained {
        let data = [&b"\x0areloc.DATA\x01\x01"[..], &[5, 6, 1, 0]].concat();
        write_section(0, &data, &mut out);
    }
    out
}

#[test]
fn data_come_later_when_nothing_in_the_first_part_leads_to_them() {
    let second = |function: usize| function == 1;
    let expected = |range: Range<usize>| Some(vec![range]);
    assert_eq!(data::movable(&linked(false), &second), expected(14..18));
    assert_eq!(data::movable(&linked(true), &second), Some(Vec::new()));
    assert_eq!(data::movable(&linked(false), &|_| true), expected(10..18));
    assert_eq!(data::movable(&module(), &second), None);
}
