//! What lies between neighbouring machines, and what it took up.

use super::trace::Trace;
use linewake_kpi::study::wake::{Absorbed, BufferWake, StationWake};
use linewake_model::line::{Line, StationIndex};
use linewake_model::station::StationKind;
use linewake_model::time::Moment;

/// Of each two neighbouring machines of which one stood in the wake.
pub(super) fn between(
    line: &Line,
    stations: &[StationWake],
    with: &Trace,
    without: &Trace,
    window: (Moment, Moment),
) -> Vec<Absorbed> {
    let machines: Vec<&StationWake> = stations
        .iter()
        .filter(|it| {
            !matches!(
                line.stations[it.station_index].kind,
                StationKind::RigidBelt(_) | StationKind::Accumulator(_)
            )
        })
        .collect();
    let stood = |it: &StationWake| it.starved_s + it.blocked_s + it.stopped_s;
    machines
        .windows(2)
        .filter(|pair| stood(pair[0]) > 0.0 || stood(pair[1]) > 0.0)
        .map(|pair| {
            let (before, behind) = (pair[0], pair[1]);
            let is_packer = matches!(line.stations[behind.station_index].kind, StationKind::CasePacker(_));
            let last = behind.station_index + usize::from(is_packer);
            let buffers = (before.station_index + 1..last)
                .filter(|&station| with.stations[station].is_buffer)
                .map(|station| buffer(line, station, with, without, window))
                .collect();
            Absorbed {
                before: before.station.clone(),
                behind: behind.station.clone(),
                before_stood_s: stood(before),
                behind_stood_s: stood(behind),
                absorbed_s: (stood(before) - stood(behind)).abs(),
                hopper: matches!(line.stations[before.station_index].kind, StationKind::BulkSupply(_)),
                buffers,
            }
        })
        .collect()
}

fn buffer(
    line: &Line,
    station: StationIndex,
    with: &Trace,
    without: &Trace,
    (from, to): (Moment, Moment),
) -> BufferWake {
    let (one, other) = (&with.stations[station], &without.stations[station]);
    let at_stop = one.content_at(from);
    let mut found = BufferWake {
        station_index: station,
        station: line.stations[station].id.clone(),
        places: match &line.stations[station].kind {
            StationKind::Accumulator(belt) => {
                (belt.capacity != linewake_model::station::UNLIMITED).then_some(belt.capacity)
            }
            StationKind::CasePacker(packer) => Some(packer.lane_packs + packer.packs_per_case),
            _ => None,
        },
        at_stop,
        lowest: at_stop,
        highest: at_stop,
        most_more: 0,
        most_less: 0,
    };
    let within = |at: &Moment| *at > from && *at <= to;
    let moments = one.contents.iter().chain(&other.contents).map(|step| step.0).filter(within);
    for at in moments {
        let (now, else_) = (one.content_at(at), other.content_at(at));
        found.lowest = found.lowest.min(now);
        found.highest = found.highest.max(now);
        found.most_more = found.most_more.max(now.saturating_sub(else_));
        found.most_less = found.most_less.max(else_.saturating_sub(now));
    }
    found
}
