//! Which extra waits belong to the wake: those that touch it, station by station.

use super::trace::What;
use super::waits::Extra;
use linewake_log::header::LineFacts;
use linewake_model::line::{Line, StationIndex};
use linewake_model::station::StationKind;
use linewake_model::time::{Moment, Span};

/// Rounded times and pieces between two machines: so much later a wait still touches.
const TOUCH: Span = Span(2_000_000);

/// A stretch that can hand the wake on.
#[derive(Clone, Copy, Debug)]
struct Member {
    station: StationIndex,
    start: Moment,
    end: Moment,
}

/// Of the extra waits of each station those that belong to the wake of the stops.
///
/// *Rule*: a wait belongs to it if a stop, or a wait that belongs to it, of a neighbouring station begins no later and
/// has ended no longer before than a piece takes from there: the empty-line transit time between the two, and, from the
/// supply, the time to prepare a batch. A starved station is reached from upstream, a blocked one from downstream.
/// Belts and tables are passed over.
pub(super) fn wake_of(
    line: &Line,
    facts: &LineFacts,
    stops: &[(StationIndex, Moment, Moment)],
    extra: &[Vec<Extra>],
) -> Vec<Vec<Extra>> {
    let mut members: Vec<Member> =
        stops.iter().map(|&(station, start, end)| Member { station, start, end }).collect();
    let mut wake: Vec<Vec<Extra>> = vec![Vec::new(); extra.len()];
    let mut belongs: Vec<Vec<bool>> = extra.iter().map(|waits| vec![false; waits.len()]).collect();
    let mut next = 0;
    while let Some(member) = members.get(next).copied() {
        next += 1;
        for station in neighbours(line, member.station) {
            let until = member.end + way(line, facts, member.station, station) + TOUCH;
            let due = if station > member.station { What::Starved } else { What::Blocked };
            for (place, wait) in extra[station].iter().enumerate() {
                let touches = wait.what == due && wait.start + TOUCH >= member.start && wait.start <= until;
                if touches && !belongs[station][place] {
                    belongs[station][place] = true;
                    members.push(Member { station, start: wait.start, end: wait.end });
                }
            }
        }
    }
    for (station, waits) in extra.iter().enumerate() {
        wake[station] = waits
            .iter()
            .zip(&belongs[station])
            .filter(|(_, belongs)| **belongs)
            .map(|(wait, _)| *wait)
            .collect();
    }
    wake
}

/// The next machines up- and downstream, and the rigid belts on the way.
fn neighbours(line: &Line, station: StationIndex) -> Vec<StationIndex> {
    let mut found = Vec::new();
    let mut look = |places: &mut dyn Iterator<Item = StationIndex>| {
        for place in places {
            match line.stations[place].kind {
                StationKind::Accumulator(_) => {}
                StationKind::RigidBelt(_) => found.push(place),
                _ => {
                    found.push(place);
                    break;
                }
            }
        }
    };
    look(&mut (station + 1..line.stations.len()));
    look(&mut (0..station).rev());
    found
}

/// Time that a piece takes between the two on an empty line, with the stations themselves.
fn way(line: &Line, facts: &LineFacts, from: StationIndex, to: StationIndex) -> Span {
    let constraint = usize::from(facts.constraint);
    let along = |station: StationIndex| {
        let transit = facts.stations[station].transit_to_constraint.0 as i64;
        if station < constraint { -transit } else { transit }
    };
    let between = Span(along(to).abs_diff(along(from)));
    match &line.stations[from.min(to)].kind {
        StationKind::BulkSupply(supply) if from < to => {
            between + Span::from_seconds(supply.preparation_s.mean())
        }
        _ => between,
    }
}
