//! The cautions, boxed, before the first step that takes a person to the machine.
//!
//! Signal words as in ANSI Z535.4: WARNING could kill or seriously injure, CAUTION could injure less,
//! NOTICE is about property. Each message is hazard, consequence, how to avoid it.

use maud::{Markup, html};

const WARNINGS: [[&str; 2]; 3] = [
    [
        "Turning bit.",
        "It cuts to the bone. Keep hands, sleeves, gloves and hair away from it. Stop the router, unplug it and wait \
         until the bit stands still before you reach in or measure on the machine.",
    ],
    [
        "Hanging carriage.",
        "Only the chains hold it, and it crushes what it falls on. Support it before you touch a chain, a sprocket \
         or a motor, and stay out from under it.",
    ],
    [
        "Fire.",
        "A dull bit, or one that dwells, makes embers that smoulder in dust and burn later. Use a sharp bit, stay \
         with the running machine, and look at bin and hose again after an hour.",
    ],
];

const CAUTIONS: [[&str; 2]; 2] = [
    ["Pinch points.", "Chain and sprocket crush fingers. Keep them clear whenever the motors have power."],
    [
        "Noise and dust.",
        "They harm ears, eyes and lungs. Wear ear and eye protection and a dust mask, and run the extraction.",
    ],
];

const NOTICES: [[&str; 2]; 1] = [[
    "Fasteners.",
    "A bit that meets a screw breaks. See that none lies under a hole or in the way of the carriage.",
]];

/// The box.
pub(super) fn boxed() -> Markup {
    html! {
        aside.cautions aria-label="Before you go to the machine" {
            h3 { "Before you go to the machine" }
            (group("WARNING", true, &WARNINGS))
            (group("CAUTION", true, &CAUTIONS))
            (group("NOTICE", false, &NOTICES))
            p {
                "Run the first pass with the router off and the bit clear of the sheet. Follow the manuals of machine \
                 and router, local codes, and a licensed electrician for wiring: where they differ from this sheet, \
                 they win."
            }
        }
    }
}

fn group(word: &str, alert: bool, messages: &[[&str; 2]]) -> Markup {
    html! {
        div.signal {
            p.word {
                @if alert {
                    svg viewBox="0 0 24 22" width="20" height="18" aria-hidden="true" {
                        path d="M12 1 23.5 21H.5z" fill="none" stroke="currentColor" stroke-width="2" stroke-linejoin="round" {}
                        path d="M12 8v6M12 16.6v2" stroke="currentColor" stroke-width="2.2" {}
                    }
                    " "
                }
                (word)
            }
            ul {
                @for [hazard, advice] in messages { li { strong { (hazard) } " " (advice) } }
            }
        }
    }
}
