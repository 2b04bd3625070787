//! The PNG beside each figure, drawn on all threads.

use crate::failure::Failure;
use linewake_study::replicate::Workers;

/// PNG files of the figures, named like them.
pub(crate) fn pictures(
    charts: &[(String, String)],
    workers: &Workers<'_>,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let draw = |place: u64| {
        let (name, svg) = usize::try_from(place).ok().and_then(|place| charts.get(place))?;
        let stem = name.strip_suffix(".svg").unwrap_or(name);
        Some(linewake_report::png(svg).map(|picture| (format!("{stem}.png"), picture)))
    };
    let count = u64::try_from(charts.len()).unwrap_or(u64::MAX);
    let drawn: Result<Vec<_>, _> = workers.each(count, &|| (), draw)?.into_iter().flatten().collect();
    drawn.map_err(|error| Failure::failed(error.to_string(), ""))
}
