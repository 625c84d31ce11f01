//! Positions in the lists of a circuit.

macro_rules! index {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub struct $name(pub u32);

        impl $name {
            /// The same number as a position in the list it points into.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

index!(
    /// Position of a part in [`super::Circuit::parts`].
    PartId
);
index!(
    /// Position of a place in [`super::Circuit::places`].
    PlaceId
);
index!(
    /// Position of a control in [`super::Circuit::controls`].
    ControlId
);
index!(
    /// Position of a connector in [`super::Circuit::connectors`].
    ConnectorId
);
