//! Words of measuring: readings, instruments, what is doubtful, how well all fits.

use super::Entry;

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        word: "uncertainty",
        also: &["u", "±", "standard uncertainty", "interval"],
        what: "How far a value may be off, as one standard deviation. The truth is within one u about two times in three, \
               within two u 95 times in 100.",
        usual: "0.3 to 0.5 mm for a tape over a metre or two.",
        act: "Believe no difference smaller than two of them.",
    },
    Entry {
        word: "hole",
        also: &["hole id", "pattern", "grid"],
        what: "Columns have letters from the left, rows have numbers from the bottom, both seen from the front: A1 is the \
               lower left hole.",
        usual: "",
        act: "Stand where you stand when you cut. Check where the odd hole is before you start.",
    },
    Entry {
        word: "key hole",
        also: &["key", "odd hole"],
        what: "One hole out of the grid, near the lower left corner. It shows which way up the sheet is, and one reading from \
               it gives away a sheet that was read from behind.",
        usual: "",
        act: "If it is not at the lower left, turn the sheet before you measure.",
    },
    Entry {
        word: "reading",
        also: &["readings", "distance", "line"],
        what: "One distance as the tape or caliper gave it, between two holes or from an edge of the sheet to a hole.",
        usual: "24 well-chosen ones beat 40 careless ones.",
        act: "Read every distance before you look at any answer; repeat the ones you doubt.",
    },
    Entry {
        word: "how",
        also: &["centre", "inside", "outside", "rim"],
        what: "Which rims of the holes a distance was taken between: same rim to same rim (the same as centre to centre), \
               inside rims, or outside rims. The hole's diameter is taken off or added.",
        usual: "",
        act: "With a tape use same rim to same rim: left to left, or lower to lower. It needs no arithmetic.",
    },
    Entry {
        word: "burn",
        also: &["burnt end", "start"],
        what: "Starting the tape at a round mark instead of its hook, so that the loose hook cannot spoil the reading. The \
               start is taken off afterwards.",
        usual: "100 mm, or 10 inches.",
        act: "State it for all readings or for none. A forgotten one shows as an error of just that length.",
    },
    Entry {
        word: "instrument",
        also: &["tape", "caliper", "scale error", "zero error"],
        what: "What was measured with. All readings of one tape share its scale error and its zero error, however often you \
               repeat them.",
        usual: "Scale: class II within 0.2 mm/m, class I within 0.1 mm/m over long spans (EU directive 2014/32).",
        act: "Use one good tape for good, and the same one for the next test: its own error then cancels in the change.",
    },
    Entry {
        word: "set aside",
        also: &["doubtful", "doubtful readings"],
        what: "A reading that contradicts all the others so much that it was not used. It stays in the list with what it \
               should have been and the likeliest slip.",
        usual: "Good readings: one lost in a hundred cuts. A tired person makes a slip in one of 50.",
        act: "Measure it again, without looking at the expected value, and put the new figure in.",
    },
    Entry {
        word: "excess",
        also: &["expected value"],
        what: "Reading less what the fit says of that distance. Positive: read too long.",
        usual: "Within two or three times the stated uncertainty of the instrument.",
        act: "Large and round (10 mm, 100 mm, 1 inch, the hole's diameter) means a slip; the report names the likeliest.",
    },
    Entry {
        word: "w",
        also: &["standardised residual"],
        what: "Baarda's w: the excess in units of its own standard uncertainty, which allows for what the reading itself \
               contributed to the fit.",
        usual: "Between -2 and 2 in 95 of 100 good readings.",
        act: "Nothing below 3. Above, measure again.",
    },
    Entry {
        word: "checked",
        also: &["redundancy"],
        what: "How much of a slip in this reading would show in its own excess; the rest hides in the estimates. 0 %: no \
               other reading checks it.",
        usual: "20 to 80 %.",
        act: "Where it is low, repeat that reading: nothing else can find a slip in it.",
    },
    Entry {
        word: "chi-square",
        also: &["chi squared", "χ²", "fit", "p_value", "chance", "degrees of freedom", "dof"],
        what: "One figure for how well all readings fit what was stated of instruments and scatter. With it goes the chance \
               that good readings fit as badly by luck alone.",
        usual: "About the number of readings; a chance between 1 % and 99 %.",
        act: "Chance under 1 %: something is not as stated. Look at the doubtful readings, then for play or a swelled sheet.",
    },
    Entry {
        word: "read from behind",
        also: &["mirrored"],
        what: "The readings fit far better with left and right swapped: the sheet was turned over before measuring.",
        usual: "",
        act: "Find the odd hole, turn the sheet, measure again. Corrections from a mirrored sheet make a machine worse.",
    },
    Entry {
        word: "leave alone",
        also: &["leave it alone"],
        what: "The improvement to be had is smaller than its own uncertainty: a change could as well make things worse.",
        usual: "",
        act: "Leave the settings. Take more readings if you need better.",
    },
];
