//! Words of the months: growth, change, charts.

use super::Entry;

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        word: "growth",
        also: &["growth of the chains", "a month", "a year"],
        what: "How much longer each metre of a chain gets in a month as pins and bushes wear, from all cuts together, with the \
               effect of warmth taken out.",
        usual: "Hundredths of a mm per metre a month on a machine that is used at weekends.",
        act: "A chain that grows by more than a few mm per metre in all is worn: see what its maker allows. Until then a new \
              test cut and `correct` take the growth out.",
    },
    Entry {
        word: "no slope seen yet",
        also: &["slope"],
        what: "The growth of a chain may be nought: its 95 % interval includes it. That is not a proof that nothing wears; \
               more cuts, or a longer time, narrow the interval.",
        usual: "The first three or four cuts seldom show a slope.",
        act: "Keep cutting a test now and then, and note the temperature with each.",
    },
    Entry {
        word: "all cuts",
        also: &["all cuts together", "each cut", "last cut"],
        what: "The machine as all cuts together show it: each lends the others what it knows, and the tape that they share counts \
               once. It is more certain than any cut by itself.",
        usual: "About half the uncertainty of the last cut alone after half a dozen cuts.",
        act: "Trust it more than a single cut, as long as what was done to the machine is written down with `note`.",
    },
    Entry {
        word: "unchanged",
        also: &["changed", "changed, too little to matter", "changed or not"],
        what: "The answer to whether the machine moved between two cuts. Unchanged: no change is seen beyond the uncertainty. Too \
               little to matter: there is one, surely under a quarter of the limit. Changed: there is one, and it may matter.",
        usual: "From one month to the next a sound machine is unchanged; in 5 of 100 pairs it is called changed by chance.",
        act: "For a change, look at what was done in between; if nothing was, look for something loose.",
    },
    Entry {
        word: "odd",
        also: &["stands alone", "cuts that stand out"],
        what: "A cut whose readings do not go with those before and after it, beyond what scatter and wear can do (a chance of \
               one in a thousand over the whole log).",
        usual: "None.",
        act: "Compare the settings in the controller with machine.toml: one that was mistyped or never entered looks like this.",
    },
    Entry {
        word: "weighted average",
        also: &["control charts", "limits", "ewma"],
        what: "Each point of a chart averaged with those before it, the newest counting a fifth. It shows a slow drift earlier than single \
               points do.",
        usual: "Inside its limits; on an unchanged machine it leaves them once in 500 cuts.",
        act: "When it leaves its limits, something drifts: look at the growth of the chains and at the frame.",
    },
    Entry {
        word: "when to look again",
        also: &["next test", "next cut"],
        what: "The day for the next test cut: before the error is likely to reach the limit, and not longer than the checks so far \
               have earned (each that is passed lengthens the interval by a quarter, each that is failed shortens it).",
        usual: "Weeks for a new machine, months for one that has proved steady.",
        act: "Cut a small test by then, or sooner after anything was done to the machine.",
    },
];
