//! What is refused in a job, and the plain reasons.

use super::bend::OffLimits;
use crate::mistake::Mistake;
use std::ops::Range;

type Span = Range<usize>;

fn refusal(
    span: Span,
    title: impl Into<String>,
    found: impl Into<String>,
    expected: impl Into<String>,
) -> Mistake {
    Mistake::new(span, title).found(found).expected(expected)
}

/// A character outside comments that belongs to no plain word, or a control character anywhere.
pub fn stray(bytes: &[u8], at: usize) -> Mistake {
    let span = at..at + 1;
    match bytes[at] {
        b'#' | b'[' | b']' | b'=' => variable(span),
        b')' => refusal(span, "a bracket closes no comment", "no ( before it", "( and ) in pairs"),
        b'*' => refusal(span, "a checksum no longer fits a changed line", "a checksum", "lines without `*`")
            .help("write the job out without checksums"),
        b'$' | b'{' | b'}' => refusal(
            span,
            "this is a command to one make of control, not a job",
            "not RS274/NGC",
            "G, M and axis words",
        ),
        b'/' => {
            refusal(span, "a slash stands inside a line", "not at its beginning", "/ as the first character")
        }
        0 => refusal(span, "the file is not plain text", "a zero byte", "ASCII text")
            .help("if an editor saved it as Unicode, save it again as plain text or UTF-8"),
        b if b.is_ascii_control() => refusal(
            span,
            "a control character stands in the line",
            "some controls end a line or a comment here",
            "printable characters",
        ),
        b if !b.is_ascii() => refusal(
            span,
            "a character that no control knows stands outside comments",
            "not ASCII",
            "plain letters and digits",
        ),
        b => refusal(
            span,
            format!("`{}` belongs to no word", char::from(b)),
            "it stands alone",
            "a letter and its number, such as X12.5",
        ),
    }
}

/// `#1`, `[...]`: a value that only the control knows.
pub fn variable(span: Span) -> Mistake {
    refusal(
        span,
        "variables and sums cannot be worked out here",
        "a value that only the control knows",
        "plain numbers",
    )
    .help("let the drawing program write the job without variables")
}

/// A comment in a comment.
pub fn nested_bracket(at: usize) -> Mistake {
    refusal(
        at..at + 1,
        "a bracket opens inside a comment",
        "some controls end the comment at the first ), others at the last",
        "comments without brackets inside",
    )
}

/// A comment that is never closed.
pub fn open_bracket(span: Span) -> Mistake {
    refusal(span, "this comment is never closed", "some controls read on in the next line", "a ) at its end")
}

/// Words after a comment in brackets that holds a semicolon.
pub fn after_semicolon_in_brackets(comment: Span) -> Mistake {
    refusal(
        comment,
        "something follows a comment that holds a semicolon",
        "some controls take all after the semicolon for a comment",
        "the words first, then the comment",
    )
}

/// Our own mark in a comment.
pub fn bent_already(span: Span) -> Mistake {
    refusal(span, "this job has been bent already", "the mark of a bent job", "the job as it was drawn")
        .help("bend the first job again, not the bent one; or delete this line if you are sure")
}

/// More digits than any machine has places.
pub fn too_long_number(span: Span) -> Mistake {
    refusal(span, "the number is too long", "more than 15 digits", "a place in mm or inches")
}

/// A decimal comma.
pub fn comma(span: Span) -> Mistake {
    refusal(
        span,
        "a comma stands in a number",
        "controls stop here or read only what is before it",
        "a decimal point",
    )
}

/// A letter without a number.
pub fn no_number(letter: u8, span: Span) -> Mistake {
    let letter = char::from(letter);
    refusal(
        span,
        format!("{letter} has no plain number"),
        "this is read differently from control to control",
        format!("a number, such as {letter}12.5"),
    )
}

/// A line longer than is read.
pub fn long_line(most: usize) -> Mistake {
    refusal(
        0..1,
        "the line is too long",
        format!("more than {most} characters"),
        "256 characters at most (NIST IR 6556)",
    )
}

/// A letter given twice.
pub fn twice(letter: u8, span: Span) -> Mistake {
    refusal(
        span,
        format!("{} stands twice in this line", char::from(letter)),
        "which one counts?",
        "each letter once",
    )
}

/// Two codes of one modal group.
pub fn two_of_a_group(span: Span) -> Mistake {
    refusal(span, "two codes in this line contradict each other", "which one counts?", "one of them")
}

/// A code with its reason.
pub fn code(letter: char, tenths: i32, span: Span, why: &str) -> Mistake {
    let name = if tenths % 10 == 0 {
        format!("{letter}{}", tenths / 10)
    } else {
        format!("{letter}{}.{}", tenths / 10, tenths % 10)
    };
    refusal(
        span,
        format!("{name} cannot be passed through"),
        why,
        "G0 G1 G2 G3 in the XY plane, from one zero",
    )
}

/// A word that names a subprogram or a program.
pub fn o_word(span: Span) -> Mistake {
    refusal(span, "subprograms cannot be followed", "an O word", "one program from top to bottom")
        .help("if this is only the program's number, delete the line")
}

/// U, V or W.
pub fn second_axis(letter: u8, span: Span) -> Mistake {
    let letter = char::from(letter);
    refusal(
        span,
        format!("{letter} may move the carriage"),
        "on some controls it is a step along X, Y or Z",
        "X, Y and Z",
    )
}

/// A, B, C or E together with X or Y.
pub fn fourth_axis(letter: u8, span: Span) -> Mistake {
    let letter = char::from(letter);
    refusal(
        span,
        format!("{letter} moves together with X or Y"),
        "a line that is cut into chords would turn it all at once",
        format!("{letter} in a line of its own"),
    )
}

/// A line that may or may not be carried out.
pub fn block_delete(span: Span) -> Mistake {
    refusal(
        span,
        "a switch decides whether this line is carried out",
        "a line with /",
        "lines without /, or without words",
    )
}

/// No unit yet.
pub fn no_unit(span: Span) -> Mistake {
    refusal(
        span,
        "millimetres or inches?",
        "no G20 or G21 before this",
        "G21 (mm) or G20 (inch) before the first length",
    )
    .help("if the control is set once for all, say which: --job-unit mm")
}

/// No motion code in force.
pub fn no_motion(span: Span) -> Mistake {
    refusal(
        span,
        "no motion is in force here",
        "a place without G0, G1, G2 or G3",
        "a motion code before the first place",
    )
}

/// A place that is not known in full.
pub fn no_start(span: Span) -> Mistake {
    refusal(
        span,
        "where the carriage is before this is not known",
        "both X and Y are needed, counted from the zero",
        "X and Y together in the first move, with G90",
    )
}

/// Z moves from an unknown height while the line has to be cut into chords.
pub fn no_height(span: Span) -> Mistake {
    refusal(
        span,
        "the height at which this begins is not known",
        "X, Y and Z move together",
        "a Z of its own before it",
    )
}

/// A dwell with axis words.
pub fn dwell_with_axes(span: Span) -> Mistake {
    refusal(
        span,
        "a dwell and a place stand in one line",
        "some controls take this X for a time",
        "G4 in a line of its own",
    )
}

/// X or Y beside a code that takes them for something else.
pub fn not_with_xy(span: Span, code: &str) -> Mistake {
    refusal(
        span,
        format!("{code} together with X or Y is not followed"),
        "not a plain move",
        "Z alone beside it",
    )
}

/// After M2, M30 or the last `%`.
pub fn after_end(span: Span) -> Mistake {
    refusal(
        span,
        "words follow the end of the program",
        "some controls carry them out, others never read them",
        "nothing but comments after M2, M30 or the last %",
    )
}

/// `%` with something else.
pub fn percent(span: Span) -> Mistake {
    refusal(span, "% stands among other words", "it begins or ends a program", "% in a line of its own")
}

/// What is wrong with an arc.
pub fn arc(span: Span, found: impl Into<String>) -> Mistake {
    refusal(span, "this arc cannot be drawn", found, "an end, and either I and J (start to middle) or R")
}

/// A place beyond the sheet or out of the chains' reach.
pub fn off_limits(span: Span, why: OffLimits) -> Mistake {
    match why {
        OffLimits::Sheet { beyond_mm } => refusal(
            span,
            "the job leaves the sheet here",
            format!("{beyond_mm:.1} mm beyond the edge"),
            "places on the sheet; X0 Y0 is its middle",
        )
        .help("--zero X,Y tells where the job's X0 Y0 lies; --beyond 20 allows 20 mm past the edges"),
        OffLimits::Chains(reason) => refusal(
            span,
            "the chains cannot hold the carriage here",
            reason,
            "places that the chains can hold",
        ),
        OffLimits::NotANumber => refusal(span, "this is no place", "not a number", "a place on the sheet"),
    }
}
