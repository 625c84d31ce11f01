//! What a person says was seen: `typed` reads what they type, `number` its numbers, `answered` is what an answer
//! says.

pub mod answered;
pub mod number;
pub mod typed;
