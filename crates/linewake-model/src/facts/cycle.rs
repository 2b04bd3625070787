//! The former's cycle and what must fit into it: functions, loads, and the robot's picks.

use super::pace::{LoaderTimes, cap_s, pace, robot_group_s};
use super::shape::{Shape, array_portions};
use super::stop_free::groups;
use crate::line::Line;
use serde::Serialize;

/// The former's cycle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CycleBudget {
    /// Functions of the dwell, in listed order.
    pub functions: Vec<FunctionBudget>,
    /// Name of the function that sets the dwell.
    pub limiting_function: String,
    /// Dwell: that of the longest function.
    pub dwell_s: f64,
    /// Time of an advance.
    pub advance_s: f64,
    /// Dwell and advance.
    pub functions_and_advance_s: f64,
    /// Cycle that the cap on the speed asks for.
    pub cap_s: Option<f64>,
    /// What the cap leaves beyond dwell and advance; 0 without a cap, or where it does not bite.
    pub wait_for_cap_s: f64,
    /// The cycle.
    pub cycle_s: f64,
    /// What sets it.
    pub set_by: CycleLimit,
    /// Packs of a cycle.
    pub packs_per_cycle: usize,
}

/// What sets the cycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CycleLimit {
    /// The longest function and the advance.
    Functions,
    /// The cap on the speed.
    Cap,
}

/// One function of the dwell.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FunctionBudget {
    /// Name.
    pub function: String,
    /// How long it works.
    pub dwell_s: f64,
    /// How much longer it could work without lengthening the dwell.
    pub in_hand_in_dwell_s: f64,
    /// How much longer it could work without lengthening the cycle (the cap gives more).
    pub in_hand_in_cycle_s: f64,
}

/// The loader against the former.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoaderTime {
    /// Portions of an array.
    pub portions_per_array: f64,
    /// Transfers of all files and the traverses between them: beside the cycle, while the web goes on.
    pub fill_s: f64,
    /// Time of one load: within a dwell.
    pub load_s: f64,
    /// Return of belt B: beside the cycle.
    pub return_s: f64,
    /// Belt B's cycle: fill, load, return.
    pub array_s: f64,
    /// Belt A's cycle: takes and transfers of all files (A refills while B moves).
    pub takes_s: f64,
    /// Time in which the portioner delivers an array; absent without a portioner.
    pub portions_arrive_s: Option<f64>,
    /// Time that the former leaves for an array: so many cycles, over the loads of a zone.
    pub time_for_array_s: f64,
    /// The longest of B's cycle, A's cycle and the portions' arrival.
    pub needed_for_array_s: f64,
    /// `time_for_array_s` less `needed_for_array_s`; below 0 the former starves.
    pub in_hand_s: f64,
    /// All loads of a zone from first to last; it needs the dwell of one cycle.
    pub zone_load_s: f64,
    /// What of it the functions of the dwell hide.
    pub hidden_in_dwell_s: f64,
    /// By how much the loads lengthen one dwell in each zone; 0 when they are hidden.
    pub lengthens_dwell_s: f64,
    /// The former is never starved in steady running: nothing lengthens the dwell and the array is there in time.
    pub keeps_up: bool,
}

/// The robot against the cycle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RobotTime {
    /// Gripper cycles for a frame.
    pub groups: u32,
    /// Pick and place of all groups.
    pub frame_s: f64,
    /// From the frame's arrival to the end of the last pick: the pick zone is clear.
    pub clear_after_s: f64,
    /// Time that the cycle leaves for it: the cycle less the advance.
    pub time_to_clear_s: f64,
    /// The former's cycle.
    pub cycle_s: f64,
    /// What the robot has in hand in a cycle: the smaller of cycle less frame and of the two times to clear.
    pub in_hand_s: f64,
}

pub(super) fn budget(shape: &Shape<'_>) -> Option<CycleBudget> {
    let (_, former) = shape.former?;
    let (dwell_s, advance_s, cap) = (former.dwell().seconds(), former.advance.seconds(), cap_s(former));
    let functions_and_advance_s = dwell_s + advance_s;
    let cycle_s = functions_and_advance_s.max(cap);
    let wait_for_cap_s = cycle_s - functions_and_advance_s;
    let functions: Vec<_> = former
        .functions
        .iter()
        .map(|function| FunctionBudget {
            function: function.name.clone(),
            dwell_s: function.dwell.seconds(),
            in_hand_in_dwell_s: dwell_s - function.dwell.seconds(),
            in_hand_in_cycle_s: dwell_s - function.dwell.seconds() + wait_for_cap_s,
        })
        .collect();
    let limiting = former.functions.iter().find(|function| function.dwell == former.dwell());
    Some(CycleBudget {
        functions,
        limiting_function: limiting.map(|function| function.name.clone()).unwrap_or_default(),
        dwell_s,
        advance_s,
        functions_and_advance_s,
        cap_s: former.max_cycles_per_min.map(|_| cap),
        wait_for_cap_s,
        cycle_s,
        set_by: if cap > functions_and_advance_s { CycleLimit::Cap } else { CycleLimit::Functions },
        packs_per_cycle: former.pockets(),
    })
}

pub(super) fn loader(shape: &Shape<'_>) -> Option<LoaderTime> {
    let (loader, cycle) = (shape.loader?, budget(shape)?);
    let times = LoaderTimes::of(loader);
    let portions = array_portions(loader);
    let portions_arrive_s = shape.portioner.map(|portioner| portions * 60.0 / portioner.rate_per_min);
    let zone_load_s = times.zone_load_s(loader);
    let lengthens_dwell_s = (zone_load_s - cycle.dwell_s).max(0.0);
    let zone_s = (f64::from(loader.indexes_per_array) - 1.0) * cycle.cycle_s
        + (cycle.functions_and_advance_s + lengthens_dwell_s).max(cycle.cycle_s);
    let time_for_array_s = zone_s / f64::from(loader.loads_per_zone.max(1));
    let needed_for_array_s = times.belt_b_s.max(times.belt_a_s).max(portions_arrive_s.unwrap_or(0.0));
    let in_hand_s = time_for_array_s - needed_for_array_s;
    Some(LoaderTime {
        portions_per_array: portions,
        fill_s: times.fill_s,
        load_s: loader.load.seconds(),
        return_s: loader.return_.seconds(),
        array_s: times.belt_b_s,
        takes_s: times.belt_a_s,
        portions_arrive_s,
        time_for_array_s,
        needed_for_array_s,
        in_hand_s,
        zone_load_s,
        hidden_in_dwell_s: zone_load_s.min(cycle.dwell_s),
        lengthens_dwell_s,
        keeps_up: in_hand_s >= 0.0 && lengthens_dwell_s <= 0.0,
    })
}

pub(super) fn robot(line: &Line, shape: &Shape<'_>) -> Option<RobotTime> {
    let ((_, robot), (former_index, former)) = (shape.robot?, shape.former?);
    let groups = groups(robot, former.pockets());
    let frame_s = f64::from(groups) * robot_group_s(robot);
    let clear_after_s = frame_s - robot.place_s.mean();
    let cycle_s = pace(line, shape, former_index, 0.0, 1.0).time_s * shape.packs_per_index();
    let time_to_clear_s = cycle_s - former.advance.seconds();
    Some(RobotTime {
        groups,
        frame_s,
        clear_after_s,
        time_to_clear_s,
        cycle_s,
        in_hand_s: (cycle_s - frame_s).min(time_to_clear_s - clear_after_s),
    })
}
