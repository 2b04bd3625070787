//! The rows from design to good, one list for the table, the figure and the text.

use crate::style::Fill;
use crate::wording;
use linewake_kpi::result::CauseKind;
use linewake_kpi::summary::{CauseSummary, LedgerSummary, Mean, RejectSummary, Summary};

/// The groups of rows, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Group {
    /// The constraint did not run.
    StopsAndWaits,
    /// It ran, with fewer packs than at the design rate.
    Pace,
    /// Packs were cut and lost.
    Rejects,
    /// Packs are still on the way.
    InLine,
}

impl Group {
    /// Its words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::StopsAndWaits => "stops and waits",
            Self::Pace => "slow cycles and empty pockets",
            Self::Rejects => "rejects and scrap",
            Self::InLine => "still in the line",
        }
    }

    /// How many others: "7 other stops and waits".
    fn others(self, many: usize) -> String {
        match self {
            Self::StopsAndWaits => format!("{many} other stops and waits"),
            Self::Rejects => format!("{many} other rejects"),
            Self::Pace | Self::InLine => format!("{many} others"),
        }
    }
}

/// One loss.
#[derive(Clone, Debug)]
pub(crate) struct Loss {
    pub(crate) group: Group,
    /// What it is, for people.
    pub(crate) label: String,
    /// The same in the words of the model: kind, station, reason.
    pub(crate) key: (&'static str, String, String),
    pub(crate) packs: Mean,
    pub(crate) time_s: Option<f64>,
    pub(crate) waiting_s: Option<f64>,
    pub(crate) waiting_packs: Option<f64>,
    pub(crate) consequent_packs: Option<f64>,
    pub(crate) fill: Fill,
}

/// All losses, in order; they add up to design less good.
pub(crate) fn losses(ledger: &LedgerSummary) -> Vec<Loss> {
    let mut losses: Vec<Loss> = ledger.causes.iter().map(of_cause).collect();
    losses.push(plain(Group::Pace, "slow cycles", "slow_cycles", ledger.slow_cycles_packs, Fill::Slow));
    losses.push(plain(Group::Pace, "empty pockets", "empty_pockets", ledger.empty_pockets, Fill::Slow));
    losses.extend(ledger.rejects.iter().map(of_reject));
    let in_line = ledger.still_in_line_packs;
    losses.push(plain(Group::InLine, "still in the line", "still_in_line", in_line, Fill::Rest));
    losses
}

/// What one cause costs, the recovery after its stops included.
#[derive(Clone, Debug)]
pub(crate) struct Costly {
    /// What it is, for people.
    pub(crate) label: String,
    /// Packs a shift.
    pub(crate) packs: Mean,
    /// Stops a shift, where it is a stop.
    pub(crate) stops: Option<f64>,
    /// Time a shift: of the station in these stops, or charged to the cause.
    pub(crate) time_s: Option<f64>,
}

/// What costs packs, the costliest first: stops with their recovery, and what is no stop.
pub(crate) fn costliest(summary: &Summary) -> Vec<Costly> {
    let stops = summary.pareto.iter().map(|row| Costly {
        label: wording::stop(row.kind, &row.station, &row.reason),
        packs: row.packs,
        stops: row.count.map(|count| count.mean),
        time_s: Some(row.stopped_s.mean),
    });
    let is_stop = |loss: &Loss| matches!(loss.fill, Fill::Stop | Fill::Planned | Fill::Recovery);
    let supply = CauseKind::Supply.words();
    let others = losses(&summary.ledger);
    let others = others.into_iter().filter(|loss| !is_stop(loss) && loss.key.0 != supply);
    let others = others.filter(|loss| loss.group != Group::InLine);
    let others =
        others.map(|loss| Costly { label: loss.label, packs: loss.packs, stops: None, time_s: loss.time_s });
    let mut all: Vec<Costly> = stops.chain(others).filter(|it| it.packs.mean > 0.0).collect();
    all.sort_by(|one, other| other.packs.mean.total_cmp(&one.packs.mean));
    all
}

/// The losses for a figure: the largest of each group, and the others of the group as one row.
pub(crate) fn condensed(ledger: &LedgerSummary) -> Vec<Loss> {
    let all = losses(ledger);
    let mut rows = Vec::new();
    for (group, most) in
        [(Group::StopsAndWaits, 14), (Group::Pace, 2), (Group::Rejects, 6), (Group::InLine, 1)]
    {
        let of_group: Vec<&Loss> = all.iter().filter(|loss| loss.group == group).collect();
        // One row too many is shown, since "1 other" would take the same room.
        let kept = if of_group.len() <= most + 1 { of_group.len() } else { most };
        rows.extend(of_group[..kept].iter().map(|loss| (*loss).clone()));
        if let Some(first) = of_group.get(kept) {
            let mean = of_group[kept..].iter().map(|loss| loss.packs.mean).sum();
            rows.push(Loss {
                label: group.others(of_group.len() - kept),
                key: ("others", String::new(), String::new()),
                packs: Mean { mean, half_width: None, n: first.packs.n },
                fill: Fill::Rest,
                ..(*first).clone()
            });
        }
    }
    rows
}

fn of_cause(row: &CauseSummary) -> Loss {
    Loss {
        group: Group::StopsAndWaits,
        label: wording::cause(row),
        key: (row.kind.words(), row.station.clone(), row.reason.clone()),
        packs: row.packs,
        time_s: Some(row.time_s),
        waiting_s: Some(row.waiting_s),
        waiting_packs: Some(row.waiting_packs),
        consequent_packs: Some(row.consequent_packs),
        fill: fill(row.kind),
    }
}

/// The fill of a cause.
pub(crate) fn fill(kind: CauseKind) -> Fill {
    match kind {
        CauseKind::Stop => Fill::Stop,
        CauseKind::Planned => Fill::Planned,
        CauseKind::Recovery => Fill::Recovery,
        CauseKind::Supply | CauseKind::Rate | CauseKind::StartUp => Fill::NoStop,
        CauseKind::Unknown => Fill::Rest,
    }
}

fn of_reject(row: &RejectSummary) -> Loss {
    let consequence = if row.consequence_of_stop { " (consequence of a stop)" } else { "" };
    Loss {
        label: format!("{}: {}{consequence}", row.station, wording::reason(&row.reason)),
        key: ("reject", row.station.clone(), row.reason.clone()),
        ..plain(Group::Rejects, "", "reject", row.packs, fill_of_reject(row))
    }
}

/// The fill of a reject.
pub(crate) fn fill_of_reject(row: &RejectSummary) -> Fill {
    if row.consequence_of_stop { Fill::Consequence } else { Fill::Reject }
}

fn plain(group: Group, label: &str, kind: &'static str, packs: Mean, fill: Fill) -> Loss {
    Loss {
        group,
        label: label.to_owned(),
        key: (kind, String::new(), String::new()),
        packs,
        time_s: None,
        waiting_s: None,
        waiting_packs: None,
        consequent_packs: None,
        fill,
    }
}
