//! Columns and words of the log file: the one place in which writer and reader agree.

/// The columns, in order.
pub const COLUMNS: [&str; 14] = [
    "time_s",
    "event",
    "station",
    "from",
    "to",
    "reason",
    "key",
    "value",
    "made",
    "content_before",
    "content_after",
    "item",
    "into",
    "weight_g",
];

/// Place of each column in [`COLUMNS`].
pub(crate) mod place {
    pub(crate) const TIME: usize = 0;
    pub(crate) const EVENT: usize = 1;
    pub(crate) const STATION: usize = 2;
    pub(crate) const FROM: usize = 3;
    pub(crate) const TO: usize = 4;
    pub(crate) const REASON: usize = 5;
    pub(crate) const KEY: usize = 6;
    pub(crate) const VALUE: usize = 7;
    pub(crate) const MADE: usize = 8;
    pub(crate) const CONTENT_BEFORE: usize = 9;
    pub(crate) const CONTENT_AFTER: usize = 10;
    pub(crate) const ITEM: usize = 11;
    pub(crate) const INTO: usize = 12;
    pub(crate) const WEIGHT: usize = 13;
}

/// Words of the column `event`.
pub(crate) mod event {
    pub(crate) const META: &[u8] = b"meta";
    pub(crate) const STATE: &[u8] = b"state";
    pub(crate) const COUNT: &[u8] = b"count";
    pub(crate) const CONTENT: &[u8] = b"content";
    pub(crate) const CALL: &[u8] = b"call";
    pub(crate) const PACK: &[u8] = b"pack";
    pub(crate) const WARM_UP_END: &[u8] = b"warm_up_end";
    pub(crate) const END: &[u8] = b"end";
    pub(crate) const ALL: &str = "meta, state, count, content, call, pack, warm_up_end, end";
}

/// Words of the column `key` in rows `meta`.
pub(crate) mod meta {
    pub(crate) const FORMAT_VERSION: &str = "format_version";
    pub(crate) const PROGRAM_VERSION: &str = "program_version";
    pub(crate) const MODEL_NAME: &str = "model_name";
    pub(crate) const MODEL_ABOUT: &str = "model_about";
    pub(crate) const MODEL_DIGEST: &str = "model_digest";
    pub(crate) const SEED: &str = "seed";
    pub(crate) const REPLICATION: &str = "replication";
    pub(crate) const START: &str = "start";
    pub(crate) const DETAIL: &str = "detail";
    pub(crate) const WARM_UP: &str = "warm_up_s";
    pub(crate) const HORIZON: &str = "horizon_s";
    pub(crate) const DESIGN_RATE: &str = "design_rate_per_min";
    pub(crate) const SHORT_STOP_LIMIT: &str = "short_stop_limit_s";
    pub(crate) const REASON: &str = "reason";
    pub(crate) const LEFT_OUT: &str = "left_out";
    pub(crate) const STATION: &str = "station";
    pub(crate) const HAS_STATES: &str = "has_states";
    pub(crate) const RATE: &str = "rate_per_min";
    pub(crate) const TRANSIT: &str = "transit_to_constraint_s";
    pub(crate) const CAPACITY: &str = "capacity";
    pub(crate) const PORTIONS_PER_PIECE: &str = "portions_per_piece";
    pub(crate) const SUPPLIER: &str = "supplier";
    pub(crate) const CONSTRAINT: &str = "constraint";
    pub(crate) const GOOD_AFTER: &str = "good_after";
    pub(crate) const CONSEQUENCE: &str = "tag_after_stop_longer_than_s";
}

/// Words of the key `detail`.
pub(crate) const DETAIL_STATES: &str = "states";
pub(crate) const DETAIL_PACKS: &str = "packs";
