//! Words of the machine: its unknowns, settings and parts.

use super::Entry;

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        word: "setting",
        also: &["settings", "from"],
        what: "What the controller believes about the machine now.",
        usual: "",
        act: "Keep [settings] in machine.toml equal to what is in the controller; every answer rests on that.",
    },
    Entry {
        word: "expected",
        also: &["expectation", "expected_u"],
        what: "What is believed of the machine before any reading, with its standard uncertainty `u`. It joins the fit like \
               a reading, and matters where readings say little.",
        usual: "After a set-up by tape: spacing 2 mm, height 3 mm, chain lengths 3 mm, pitch 1 mm/m.",
        act: "State it honestly. Too narrow, and the fit is pulled to a wrong guess; too wide, and weak readings wander.",
    },
    Entry {
        word: "estimate",
        also: &["estimates"],
        what: "What readings and expectations together say of an unknown, with its standard uncertainty after the ± sign.",
        usual: "",
        act: "Do not enter single estimates: enter the new settings, which serve best as a set.",
    },
    Entry {
        word: "sprocket spacing",
        also: &["spacing", "sprocket axis to sprocket axis"],
        what: "Distance from the axis of the left sprocket to the axis of the right one.",
        usual: "Known to 1 or 2 mm by tape.",
        act: "It and the two chain lengths imitate each other: enter them together.",
    },
    Entry {
        word: "beam height",
        also: &["height", "beam above the sheet's top edge"],
        what: "Height of the middle of the line through both sprocket axes above the sheet's top edge. (As a symptom, height \
               means how tall the pattern came out: see `height of the pattern`.)",
        usual: "Known to 2 or 3 mm by tape.",
        act: "Only readings to the sheet's edges see it well. Take two or three of those.",
    },
    Entry {
        word: "beam tilt",
        also: &["tilt", "right end of the beam higher"],
        what: "How much higher the right end of the beam is than the left one, in mm per metre.",
        usual: "1 mm/m with a good level.",
        act: "It only turns the pattern on the sheet. Level the beam, then the ledge, if that matters to your work.",
    },
    Entry {
        word: "beam offset",
        also: &["offset", "beam right of the middle of the sheet"],
        what: "How far the middle of the beam is to the right of the middle of the sheet.",
        usual: "2 or 3 mm.",
        act: "It only moves the pattern sideways; edge readings see it.",
    },
    Entry {
        word: "left chain length",
        also: &[
            "length_left",
            "right chain length",
            "length_right",
            "chain length",
            "extra chain, same everywhere",
            "length",
        ],
        what: "How much longer that chain is than the controller thinks, the same everywhere: a reference mark a little off, \
               a link miscounted, the reach from chain end to bit.",
        usual: "1 to 3 mm. Near a whole pitch, suspect a chain that was hung on the wrong link.",
        act: "Support the carriage, then check the reference mark; else enter the setting.",
    },
    Entry {
        word: "left chain pitch",
        also: &[
            "pitch_left",
            "right chain pitch",
            "pitch_right",
            "chain pitch",
            "pitch",
            "extra chain per metre paid out",
            "wear",
        ],
        what: "How much longer that chain is per metre paid out than links times pitch: the tolerance of its making, then \
               wear of pins and bushes.",
        usual: "0 to 1.5 mm/m new (the allowance of ISO 606 and ANSI B29.1); it grows with use.",
        act: "A tape's own scale error looks just like it in both chains at once. Watch how it grows from cut to cut.",
    },
    Entry {
        word: "chain stretch",
        also: &["stretch", "chain gives under load", "chain stretch per 100 N"],
        what: "How much a chain gives under tension, in mm per metre for 100 N. Springs back: it is not wear.",
        usual: "0.1 to 1 mm/m per 100 N for small chain (from memory, no published figure was found).",
        act: "A plain controller cannot hold it: `compensate` can. It changes when the carriage's weight does.",
    },
    Entry {
        word: "sag",
        also: &["catenary"],
        what: "A chain hangs in a slight bow under its own weight, so it takes more chain to reach a place than a straight \
               line. Worst in the far lower corner, where the chain is slack.",
        usual: "1 mm of extra chain there for 0.1 kg/m, over 10 mm for 0.4 kg/m and a carriage of 12 kg.",
        act: "Weigh a metre of chain and the carriage, and put both into machine.toml.",
    },
    Entry {
        word: "carriage",
        also: &["sled"],
        what: "What hangs from the chains: sled, router, weights. Its weight keeps the chains taut.",
        usual: "10 to 15 kg.",
        act: "Weigh it. Support it before you touch a chain, sprocket or motor: it falls.",
    },
    Entry {
        word: "hole scatter",
        also: &["scatter", "scatter of a hole", "scatter of the holes"],
        what: "How far a hole lands from where the machine would put it on average, per axis: play, friction, a wandering bit. \
               No setting mends it.",
        usual: "0.1 to 0.4 mm.",
        act: "If the readings scatter more than stated, look for play in the drives before you raise it.",
    },
    Entry {
        word: "whole pitch",
        also: &["skipped tooth", "tooth"],
        what: "A chain length that is off by close to a whole number of pitches: the chain skipped on its sprocket or was hung \
               on the wrong link.",
        usual: "",
        act: "Support the carriage, then check that chain against its mark. After re-hanging, cut a new pattern.",
    },
    Entry {
        word: "not determinable",
        also: &["not determinable from these readings"],
        what: "These readings say nothing about it. Distances between holes, for one, look the same wherever the whole \
               pattern sits.",
        usual: "",
        act: "For height, tilt and offset: two readings from one long edge of the sheet and one from a side edge.",
    },
    Entry {
        word: "known from",
        also: &["both", "set-up"],
        what: "What an estimate rests on. Readings: they at least halved its uncertainty. Set-up: they hardly changed it. \
               Both: in between.",
        usual: "",
        act: "Where it says set-up, the estimate is no better than your tape work at set-up.",
    },
    Entry {
        word: "correlation",
        also: &["hard to tell apart", "imitate"],
        what: "Runs from -1 to 1. Near either end two unknowns imitate each other in these readings: one can be larger if the \
               other is smaller, and no reading minds.",
        usual: "Over 0.9 for spacing and chain lengths.",
        act: "Enter them as a set. To part them, measure one directly, such as the spacing with a good tape.",
    },
];
