//! The timetable of the small line, on which the other tests stand.

use super::{every, seconds, small_line};
use linewake_log::event::{Counter, PackStep};

#[test]
fn the_small_line_keeps_its_timetable() {
    let run = small_line().run();
    // Portions every 60 / 120 = 0.5 s.
    assert_eq!(run.first_times("portioner", PackStep::Portioned, 4), every(0.5, 0.5, 4));
    // Arrays of two portions at 2.5 and 3.5, then one within each dwell: the next dwell begins at 5.
    assert_eq!(
        run.first_times("loader", PackStep::Loaded, 8),
        seconds(&[2.5, 2.5, 3.5, 3.5, 5.3, 5.3, 7.3, 7.3])
    );
    assert_eq!(run.states("former"), "0 running, 1.5 starved, 2.5 running");
    assert_eq!(run.first_times("former", PackStep::Cut, 4), seconds(&[8.5, 8.5, 10.5, 10.5]));
    assert_eq!(
        run.states_between("robot", 0.0, 12.0),
        "0 starved, 9 running, 9.7 starved, 11 running, 11.7 starved"
    );
    assert_eq!(run.first_times("checkweigher", PackStep::Entered, 3), seconds(&[11.7, 11.9, 13.7]));
    assert_eq!(run.first_times("packer", PackStep::Entered, 4), seconds(&[12.9, 13.1, 14.9, 15.1]));
    // Cases at 16.1, 20.1, ... 56.1: eleven before the horizon of 60.
    let cased: Vec<_> = run.times("packer", PackStep::Cased).into_iter().step_by(4).collect();
    assert_eq!(cased, every(16.1, 4.0, 11));
    assert_eq!(run.count("packer", Counter::Cased), 11);
}
