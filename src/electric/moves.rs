//! What a branch is, as far as the state of relays and fuses decides.

use super::law::Form;
use super::network::{BranchId, Law};
use super::settle::State;

/// What a branch is, as far as the state decides.
#[derive(Debug, Clone, Copy)]
pub(super) enum Moves {
    Never(Form),
    Contact { relay: usize, rests_closed: bool, closed: Form },
    Fuse { fuse: BranchId, whole: Form },
}

impl Moves {
    pub fn of(branch: BranchId, law: &Law) -> Moves {
        let closed = Form::of(law, true);
        match *law {
            Law::Contact { relay, rests_closed, .. } => {
                Moves::Contact { relay: relay.0 as usize, rests_closed, closed }
            }
            Law::Fuse { .. } => Moves::Fuse { fuse: branch, whole: closed },
            _ => Moves::Never(closed),
        }
    }

    pub fn form(&self, state: &State) -> &Form {
        match self {
            Moves::Never(form) => form,
            Moves::Contact { relay, rests_closed, closed } => {
                if state.pulled[*relay] == *rests_closed { &Form::OPEN } else { closed }
            }
            Moves::Fuse { fuse, whole } => {
                if state.blown.contains(fuse) {
                    &Form::OPEN
                } else {
                    whole
                }
            }
        }
    }
}
