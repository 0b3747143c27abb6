//! What is asked for, in the order of walking about the machine.

/// One question; its name is that of the flag too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Key {
    /// Accuracy class of the tape.
    TapeClass,
    /// Scatter of a single reading of it.
    TapeNoise,
    /// Sheet, edge to edge.
    SheetWidth,
    /// Sheet, bottom to top.
    SheetHeight,
    /// Shaft to shaft.
    Spacing,
    /// Top edge to the shafts' line at the sheet's left corner.
    TopLeft,
    /// The same at the right corner.
    TopRight,
    /// Marks of the beam's middle, any number of them.
    Mark,
    /// Teeth of each sprocket.
    Teeth,
    /// Chain's pitch.
    Pitch,
    /// Over or under the sprocket.
    ChainLeaves,
    /// Chain's mass, kg per metre.
    ChainMass,
    /// Carriage's mass, kg.
    CarriageMass,
    /// Degrees from the vertical.
    Lean,
    /// Spacing that the controller held when it drove to its middle.
    HeldSpacing,
    /// Height that it held then.
    HeldHeight,
    /// Edges to the bit at the machine's middle.
    BitAcross,
    /// Top edge to the bit there.
    BitDown,
    /// Links of the left chain there.
    LinksLeft,
    /// Links of the right chain there.
    LinksRight,
}

impl Key {
    /// Those that are asked for, in the order of walking.
    pub const ASKED: [Self; 19] = [
        Self::TapeClass,
        Self::SheetWidth,
        Self::SheetHeight,
        Self::Spacing,
        Self::TopLeft,
        Self::TopRight,
        Self::Mark,
        Self::Teeth,
        Self::Pitch,
        Self::ChainLeaves,
        Self::ChainMass,
        Self::CarriageMass,
        Self::Lean,
        Self::HeldSpacing,
        Self::HeldHeight,
        Self::BitAcross,
        Self::BitDown,
        Self::LinksLeft,
        Self::LinksRight,
    ];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::TapeClass => "tape-class",
            Self::TapeNoise => "tape-noise",
            Self::SheetWidth => "sheet-width",
            Self::SheetHeight => "sheet-height",
            Self::Spacing => "spacing",
            Self::TopLeft => "top-left",
            Self::TopRight => "top-right",
            Self::Mark => "mark",
            Self::Teeth => "teeth",
            Self::Pitch => "pitch",
            Self::ChainLeaves => "chain-leaves",
            Self::ChainMass => "chain-mass",
            Self::CarriageMass => "carriage-mass",
            Self::Lean => "lean",
            Self::HeldSpacing => "held-spacing",
            Self::HeldHeight => "held-height",
            Self::BitAcross => "bit-across",
            Self::BitDown => "bit-down",
            Self::LinksLeft => "links-left",
            Self::LinksRight => "links-right",
        }
    }

    /// Is it read with the carriage where the controller says the middle is?
    pub const fn is_at_middle(self) -> bool {
        matches!(self, Self::BitAcross | Self::BitDown | Self::LinksLeft | Self::LinksRight)
    }

    /// Sensible lengths, mm; `None` for what is no length.
    pub(super) const fn range_mm(self) -> Option<(f64, f64)> {
        Some(match self {
            Self::TapeNoise => (0.02, 20.0),
            Self::SheetWidth => (150.0, 10_000.0),
            Self::SheetHeight => (100.0, 6000.0),
            Self::Spacing | Self::HeldSpacing => (300.0, 20_000.0),
            Self::TopLeft | Self::TopRight | Self::HeldHeight => (1.0, 5000.0),
            Self::Mark | Self::BitAcross => (20.0, 10_000.0),
            Self::BitDown => (1.0, 6000.0),
            Self::Pitch => (2.0, 60.0),
            _ => return None,
        })
    }
}
