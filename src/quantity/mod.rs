//! Quantities as people write them: `12 V`, `0.75 mm2`, `4k7`, `5 min`.
