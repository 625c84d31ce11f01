//! What can be wrong with a file, as data: severity, message, place, help; and how it is shown.
