//! Words of the answer: errors, verdicts, symptoms.

use super::Entry;

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        word: "as cut",
        also: &["position error", "error"],
        what: "How far the machine misses with the settings it had when the test was cut. At any place on the sheet the \
               error is the distance between where the bit should be and where it is.",
        usual: "1 to 3 mm after a careful set-up by tape; under 0.5 mm is a very good machine of this kind.",
        act: "Compare it with the limit your work needs (`position` under [tolerance] in machine.toml).",
    },
    Entry {
        word: "rms",
        also: &["root mean square", "typical size"],
        what: "Root mean square: one typical size for an error that differs from place to place. Square it everywhere on \
               the sheet, take the mean, take the root. Large errors count more than small ones.",
        usual: "The worst place is often two to three times the rms.",
        act: "Judge a machine by it; judge a single job by the map, at the place where the job lies.",
    },
    Entry {
        word: "worst place",
        also: &["max", "at worst"],
        what: "The largest error anywhere on the sheet, usually in a corner.",
        usual: "Two to three times the rms.",
        act: "If only the corners fail, keep accurate work out of them, or bend the job with `compensate`.",
    },
    Entry {
        word: "with the new settings",
        also: &["after correction"],
        what: "The error to expect once the new settings are in the controller: what it cannot hold and what is not known \
               well enough, together.",
        usual: "A quarter to a half of the error as cut.",
        act: "Enter all new settings, then cut a fresh pattern: only that shows that they went in right.",
    },
    Entry {
        word: "95 % sure",
        also: &["bound95", "bound", "rms under, 95 % sure"],
        what: "A limit that the rms after the correction stays under with a chance of 95 %, as far as everything is as \
               stated: instruments, scatter, a machine that works as modelled.",
        usual: "A tenth to a third above the expected rms.",
        act: "Promise this figure to others, not the expected one.",
    },
    Entry {
        word: "best for this controller",
        also: &["floor"],
        what: "What the best settings would leave if everything were known exactly. A plain controller thinks that chains \
               are straight and do not stretch; no setting makes up for that everywhere at once.",
        usual: "0.1 mm with light chain and a heavy carriage, several mm with heavy chain.",
        act: "To go below it: bend the job with `compensate`, use lighter chain, or a controller that knows sag.",
    },
    Entry {
        word: "compensate",
        also: &["with compensate instead"],
        what: "Bends a job file the other way, point by point, so that the machine lands where the job meant. What \
               remains is only what is not known.",
        usual: "0.1 to 0.4 mm rms after 24 well-chosen readings.",
        act: "`tautgrid compensate job.nc -o bent.nc`. It fits the settings of the cut: make it anew after any change.",
    },
    Entry {
        word: "pass",
        also: &["within tolerance", "within the limit"],
        what: "The error as cut is under your limit everywhere on the sheet with a chance of at least 95 % (the thinking \
               of ISO 14253-1: the uncertainty counts against whoever claims).",
        usual: "",
        act: "Leave the machine alone; look again after a season, a move or a re-hung chain.",
    },
    Entry {
        word: "fail",
        also: &["not within", "not within the limit"],
        what: "The error as cut is over your limit somewhere on the sheet with a chance of at least 95 %.",
        usual: "",
        act: "Enter the new settings, or compensate, or ask less of the corners.",
    },
    Entry {
        word: "cannot tell",
        also: &["limit"],
        what: "The limit lies inside the uncertainty: these readings cannot say whether the machine is within it. With a \
               tape this answer is common, and honest.",
        usual: "",
        act: "Take more readings, or better ones; `prepare` says what another ten would buy.",
    },
    Entry {
        word: "confirmed",
        also: &["not confirmed", "verify", "promised", "promise", "did the new settings go in right"],
        what: "A cut made after a correction is held against the error that was promised for it. Confirmed: the error is within \
               the 95 % bound of the promise with a chance of at least 95 %; not confirmed: beyond it, as surely. Mistakes in \
               entering (a sign, left and right, one setting alone, another unit) are tried in turn, and the likely ones named.",
        usual: "Of settings entered right, three in four are confirmed by 28 readings; for the others the error lies so near the \
                bound that these readings cannot tell. In simulation, one mistake in a hundred that broke the promise went \
                without its right name.",
        act: "`prepare --verify` sets the grid clear of the old holes. When it is not confirmed, compare the controller with \
              machine.toml, setting by setting.",
    },
    Entry {
        word: "symptom",
        also: &["symptoms"],
        what: "What can be seen on the sheet: too wide, too tall, out of square, bowed, shifted, turned. Several causes can \
               make the same symptom.",
        usual: "",
        act: "Read the causes next: they say what in the machine is behind it.",
    },
    Entry {
        word: "cause",
        also: &["causes", "correction"],
        what: "A part of the machine that differs from its setting, and the error over the sheet which that makes. \
               Correction = estimate - setting.",
        usual: "One or two causes make most of the error.",
        act: "Where a cause can be mended with a spanner or a link of chain, that beats a setting.",
    },
    Entry {
        word: "width",
        also: &["scale x", "too wide", "too narrow"],
        what: "Scale in x: how much longer distances from side to side come out, in mm per metre. Found by least squares \
               over all holes.",
        usual: "Under 1 mm/m. A tape of class II may itself be wrong by 0.2 mm/m, and that looks the same.",
        act: "Nothing by itself: the new settings deal with it.",
    },
    Entry {
        word: "height of the pattern",
        also: &["scale y", "too tall", "too short"],
        what: "Scale in y: how much longer distances up and down come out, in mm per metre.",
        usual: "Under 1 mm/m.",
        act: "Nothing by itself: the new settings deal with it.",
    },
    Entry {
        word: "skew",
        also: &["top leans right", "top leans left", "out of square", "squareness"],
        what: "How far the upright direction departs from square to the level one, in mm per metre; positive when the top \
               leans right. A rectangle 1 m tall with a skew of 1 mm/m has its top 1 mm to the right.",
        usual: "Under 0.5 mm/m. Over a full sheet, 1 mm/m makes the two diagonals differ by about 2 mm.",
        act: "Unequal chain pitch and unequal chain lengths make it: see the causes.",
    },
    Entry {
        word: "curved rest",
        also: &["rest", "rows, columns bow"],
        what: "What is left of the error when shift, turn, both scales and skew are taken out: rows and columns that bow. It \
               comes from wrong spacing, height or chain length, and from sag.",
        usual: "0.3 to 2 mm rms.",
        act: "No scale factor cures it; the new settings or `compensate` do.",
    },
    Entry {
        word: "sideways",
        also: &[
            "shift",
            "up, down",
            "shift_x",
            "shift_y",
            "too far right",
            "too far left",
            "too high",
            "too low",
        ],
        what: "The whole pattern sits too far to one side, too high or too low on the sheet. Distances between holes cannot \
               see it; readings to the sheet's edges can.",
        usual: "A few mm; it spoils only work that is placed by the sheet's edges.",
        act: "Correct height and offset if your work is placed by the edges; otherwise leave it.",
    },
    Entry {
        word: "turn",
        also: &["anticlockwise", "clockwise", "shift, turn"],
        what: "The whole pattern is turned on the sheet. Beam tilt, unequal chain lengths and a sloping ledge under the sheet \
               all make it, and edge readings cannot tell them apart.",
        usual: "Under 1 mm/m.",
        act: "Check the ledge with a level before you blame the beam.",
    },
    Entry {
        word: "share",
        also: &["explains"],
        what: "How much of the mean squared error a symptom explains. Shares of all symptoms add up to 100 %.",
        usual: "",
        act: "Deal with the largest share first.",
    },
];
