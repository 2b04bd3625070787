//! What each figure is: symbol, unit, formula, source. Tables, tooltips and docs are made from this list.
//!
//! Element names follow ISO 22400-2 (read in a public ontology of that standard). OEE as used here departs from it
//! in one point, availability, and says so; the split of the standard stands beside it as A_iso.

/// Definition of one figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct KpiDefinition {
    /// Symbol, as printed.
    pub symbol: &'static str,
    /// Name.
    pub name: &'static str,
    /// Unit; "1" for a share.
    pub unit: &'static str,
    /// Formula, in the symbols of this list.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// What it says, in one or two sentences.
    pub text: &'static str,
}

/// The definition of that symbol.
#[must_use]
pub fn definition(symbol: &str) -> Option<&'static KpiDefinition> {
    KPIS.iter().find(|kpi| kpi.symbol == symbol)
}

macro_rules! kpis {
    ($($symbol:literal, $name:literal, $unit:literal, $formula:literal, $source:literal, $text:literal;)*) => {
        /// All definitions, in the order in which they build on each other.
        pub const KPIS: &[KpiDefinition] = &[$(KpiDefinition {
            symbol: $symbol, name: $name, unit: $unit, formula: $formula, source: $source, text: $text,
        }),*];
    };
}

kpis! {
    "PPT", "planned production time", "s", "window - planned stops that are left out",
        "corresponds to planned busy time (PBT) of ISO 22400-2, which takes all planned downtime out",
        "Breaks are left out by default and tests are counted in it as downtime; the model says which. Whether \
         scheduled downtime stays in the denominator differs between published metrics, so the rule can be chosen for \
         a report, and is printed.";
    "t_ideal", "ideal time per pack", "s", "60 / design rate per minute",
        "planned run time per unit (PRI) of ISO 22400-2; the rate is the design rate in the model",
        "The time a pack takes at the design rate.";
    "total", "packs cut", "packs", "packs cut in the window; empty pockets are none",
        "produced quantity (PQ) of ISO 22400-2",
        "In a line without a former: pieces finished by the constraint.";
    "good", "good packs", "packs", "packs handed over by the last gate in the window",
        "good quantity (GQ) of ISO 22400-2",
        "Packs with a defect that nothing found (escapes) are in it, and are printed beside it.";
    "A", "availability", "1", "(PPT - interruptions of at least the short stop limit) / PPT",
        "own split, common practice; not the availability of ISO 22400-2",
        "Interruptions of the constraint, from the instant it leaves running to the instant it runs again, that last \
         at least the short stop limit. Shorter ones sink P.";
    "P", "performance", "1", "total x t_ideal / (PPT x A)",
        "effectiveness (PRI x PQ / APT) of ISO 22400-2, with the time of A in place of APT",
        "Short interruptions and slow cycles sink it. Over 1 means that the design rate is below what the line did; \
         it is never clipped. None when total or A is zero.";
    "Q", "quality", "1", "good / total",
        "quality ratio (GQ / PQ) of ISO 22400-2",
        "Packs still in the line at the end count in total. None when total or A is zero.";
    "OEE", "overall equipment effectiveness", "1", "A x P x Q = good x t_ideal / PPT",
        "OEE index of ISO 22400-2: availability x effectiveness x quality ratio",
        "Judged at the constraint. It does not depend on the short stop limit, its split does.";
    "A_iso", "availability, ISO split", "1", "running time of the constraint / PPT",
        "availability (APT / PBT) of ISO 22400-2",
        "Every interruption, however short, is an availability loss.";
    "P_iso", "performance, ISO split", "1", "total x t_ideal / running time of the constraint",
        "effectiveness (PRI x PQ / APT) of ISO 22400-2",
        "Only slow cycles sink it. A_iso x P_iso x Q is the same OEE. None when total, A or running time is zero.";
    "Q_past", "quality without what is still in the line", "1", "good / (total - still in the line)",
        "first pass yield in all but name; for information",
        "Printed beside Q, since Q of a short run suffers from the packs on the way.";
    "MTBF", "mean running time between stops", "s", "running time of the station / its own stops",
        "everyday estimator; the printed ISO 22400-2:2014 divides by the number of stops + 1 (from memory)",
        "Stops that began in the window; planned stops are none.";
    "MTTR", "mean time to restore", "s", "time in own stops / own stops, waiting for an operator included",
        "everyday estimator; the printed ISO 22400-2:2014 divides by the number of stops + 1 (from memory)",
        "Waiting and repair are also given apart.";
    "starved", "starved share", "1", "starved time / window",
        "not in ISO 22400-2; common practice",
        "Shown beside a station's own stops and never inside them.";
    "blocked", "blocked share", "1", "blocked time / window",
        "not in ISO 22400-2; common practice",
        "Shown beside a station's own stops and never inside them.";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn symbols_are_unique_and_nothing_is_empty() {
        for (place, kpi) in KPIS.iter().enumerate() {
            assert!(KPIS.iter().skip(place + 1).all(|other| other.symbol != kpi.symbol), "{}", kpi.symbol);
            for text in [kpi.symbol, kpi.name, kpi.unit, kpi.formula, kpi.source, kpi.text] {
                assert!(!text.trim().is_empty(), "{}", kpi.symbol);
            }
        }
        assert_eq!(definition("OEE").map(|kpi| kpi.unit), Some("1"));
        assert_eq!(definition("oee"), None);
    }
}
