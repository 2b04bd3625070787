//! The former: array fill, positions, printer, vision, stop scrap.

use super::Checker;
use super::distribution::Use;
use crate::defaults;
use crate::problem::Path;
use crate::spec::former::{
    FormerSpec, PositionsSpec, PrinterSpec, StopScrapSpec, VisionSpec, WithoutProductSpec,
};
use crate::spec::station::LoaderSpec;
use crate::station::{FailSafe, Former, Function, Positions, Printer, StopScrap, Vision, WithoutProduct};
use crate::stop::Reason;
use crate::time::Span;

impl Checker<'_> {
    pub(super) fn former(&mut self, spec: &FormerSpec, loader: Option<LoaderSpec>, path: &Path) -> Former {
        let most = defaults::MOST_LANES_OR_ROWS;
        let lanes = self.count(spec.lanes, 1, most, &path.key("lanes"));
        let rows_per_index = self.count(spec.rows_per_index, 1, most, &path.key("rows_per_index"));
        if let Some(loader) = &loader {
            self.array_fill(spec, loader);
        }
        let indexes_per_array = loader.map_or(1, |loader| loader.indexes_per_array);
        let positions = self.positions(&spec.positions, indexes_per_array, &path.key("positions"));
        let leak_probability = self.probability_or_none(spec.leak_probability, &path.key("leak_probability"));
        let label_path = path.key("label_missing_probability");
        let label_missing_probability = self.probability_or_none(spec.label_missing_probability, &label_path);
        if label_missing_probability > 0.0 && positions.label.is_none() {
            self.findings.error(
                &label_path,
                "labels can be missing, and there is no position for a label",
                "add \"label\" to the positions",
            );
        }
        if spec.vision.is_some() && positions.print_inspection.is_none() {
            self.findings.error(
                &path.key("vision"),
                "vision has no position",
                "add \"print_inspection\" to the positions",
            );
        }
        Former {
            lanes,
            rows_per_index,
            functions: self.functions(spec, path),
            advance: self.positive_time(spec.advance, &path.key("advance")),
            max_cycles_per_min: spec.max_cycles.map(|cap| self.rate(cap, &path.key("max_cycles"))),
            positions,
            without_product: match spec.without_product {
                None | Some(WithoutProductSpec::Wait) => WithoutProduct::Wait,
                Some(WithoutProductSpec::RunEmpty) => WithoutProduct::RunEmpty,
            },
            stop_scrap: spec
                .stop_scrap
                .as_ref()
                .map(|scrap| self.stop_scrap(scrap, positions.cut, &path.key("stop_scrap"))),
            printer: spec.printer.as_ref().map(|printer| self.printer(printer, &path.key("printer"))),
            vision: spec.vision.as_ref().map(|vision| self.vision(vision, &path.key("vision"))),
            leak_probability,
            label_missing_probability,
            contaminated_probability: self
                .probability_or_none(spec.contaminated_probability, &path.key("contaminated_probability")),
        }
    }

    /// One array fills whole indexes: lanes x array_rows = indexes_per_array x lanes x rows_per_index.
    fn array_fill(&mut self, spec: &FormerSpec, loader: &LoaderSpec) {
        let place = self.spec.stations.iter().position(|station| station.common().id == loader.id);
        let path = Path::default().key("stations").element(place.unwrap_or(0)).key("loader");
        if loader.lanes != spec.lanes {
            self.findings.error(
                &path.key("lanes"),
                format!("the loader has {} lanes and the former {}", loader.lanes, spec.lanes),
                "both have the same lanes",
            );
        }
        let rows = u64::from(loader.indexes_per_array) * u64::from(spec.rows_per_index);
        if u64::from(loader.array_rows) != rows && loader.array_rows > 0 && rows > 0 {
            let (array, indexes) = (loader.array_rows, loader.indexes_per_array);
            self.findings.error(
                &path.key("array_rows"),
                format!(
                    "an array of {array} rows does not fill {indexes} indexes of {} rows",
                    spec.rows_per_index
                ),
                format!(
                    "array_rows must be indexes_per_array x rows_per_index: {rows} rows{}",
                    if array.is_multiple_of(spec.rows_per_index) {
                        format!(", or {} indexes", array / spec.rows_per_index)
                    } else {
                        String::new()
                    }
                ),
            );
        }
    }

    fn functions(&mut self, spec: &FormerSpec, path: &Path) -> Vec<Function> {
        let root = path.key("functions");
        if spec.functions.is_empty() {
            self.findings.error(&root, "the former has no function", "name at least form, seal and cut");
        }
        let mut functions: Vec<Function> = Vec::new();
        for (place, function) in spec.functions.iter().enumerate() {
            let path = root.element(place);
            if function.name.trim().is_empty() {
                self.findings.error(&path.key("name"), "the function has no name", "write a name");
            } else if functions.iter().any(|before| before.name == function.name) {
                self.findings.error(
                    &path.key("name"),
                    format!("there are two functions \"{}\"", function.name),
                    "give each function a name of its own",
                );
            }
            let dwell = self.time(function.dwell, &path.key("dwell"));
            functions.push(Function { name: function.name.clone(), dwell });
        }
        functions
    }

    /// Forming (0), load zone, seal, then print inspection and label, cut.
    fn positions(&mut self, spec: &PositionsSpec, indexes_per_array: u32, path: &Path) -> Positions {
        let PositionsSpec { load_at, seal, print_inspection, label, cut } = *spec;
        self.count(cut, 1, defaults::MOST_POSITIONS, &path.key("cut"));
        if load_at < indexes_per_array {
            self.findings.error(
                &path.key("load_at"),
                format!("a load zone of {indexes_per_array} indexes that ends at {load_at} begins before the web is formed"),
                format!("it lies after forming (0): load_at is at least {indexes_per_array}"),
            );
        }
        if seal <= load_at {
            self.findings.error(
                &path.key("seal"),
                format!("the seal at {seal} does not follow the load zone, which ends at {load_at}"),
                format!("write {} or more", u64::from(load_at) + 1),
            );
        }
        if cut <= seal {
            self.findings.error(
                &path.key("cut"),
                format!("the cut at {cut} does not follow the seal at {seal}"),
                format!("write {} or more", u64::from(seal) + 1),
            );
        }
        for (key, position) in [("print_inspection", print_inspection), ("label", label)] {
            let Some(position) = position else { continue };
            if position <= seal {
                self.findings.error(
                    &path.key(key),
                    format!("{position} does not follow the seal at {seal}"),
                    "print is laid down at the seal, and labels go on sealed packs",
                );
            } else if position > cut && cut > seal {
                self.findings.error(
                    &path.key(key),
                    format!("{position} lies beyond the web, which ends at the cut at {cut}"),
                    format!("write {cut} or less"),
                );
            }
        }
        Positions { load_at, seal, print_inspection, label, cut }
    }

    fn stop_scrap(&mut self, spec: &StopScrapSpec, cut: u32, path: &Path) -> StopScrap {
        let root = path.key("positions");
        if spec.positions.is_empty() {
            self.findings.error(
                &root,
                "no position is listed",
                "list those whose packs are spoilt, as in [7]",
            );
        }
        for (place, position) in spec.positions.iter().enumerate() {
            if *position > cut {
                self.findings.error(
                    &root.element(place),
                    format!("{position} lies beyond the web, which ends at the cut at {cut}"),
                    format!("write {cut} or less"),
                );
            } else if spec.positions[..place].contains(position) {
                self.findings.error(
                    &root.element(place),
                    format!("{position} is listed twice"),
                    "take one away",
                );
            }
        }
        StopScrap {
            longer_than: self.time(spec.longer_than, &path.key("longer_than")),
            positions: spec.positions.clone(),
            reason: spec
                .reason
                .as_deref()
                .map_or(Reason::HELD_IN_SEAL, |reason| self.reason(reason, &path.key("reason"))),
            empty_pockets: spec.empty_pockets.unwrap_or(false),
        }
    }

    fn printer(&mut self, spec: &PrinterSpec, path: &Path) -> Printer {
        let printer = Printer {
            p: self.probability(spec.good_to_faulty, &path.key("good_to_faulty")),
            r: self.probability(spec.faulty_to_good, &path.key("faulty_to_good")),
            q: self.probability(spec.misprint_when_faulty, &path.key("misprint_when_faulty")),
        };
        if printer.r <= 0.0 && printer.p > 0.0 {
            self.findings.warning(
                &path.key("faulty_to_good"),
                "once faulty, the print stays faulty to the end of the run",
                "write a probability above 0",
            );
        }
        printer
    }

    fn vision(&mut self, spec: &VisionSpec, path: &Path) -> Vision {
        let stop_rule = spec.stop_rule.as_ref().map(|rule| {
            let path = path.key("stop_rule");
            self.attended.get_or_insert_with(|| path.clone());
            FailSafe {
                count: self.count(rule.indexes, 1, defaults::LARGEST_CAPACITY, &path.key("indexes")),
                duration_s: self.times(&rule.duration, Use::Duration, &path.key("duration")),
            }
        });
        Vision {
            sensitivity: self.probability(spec.sensitivity, &path.key("sensitivity")),
            false_tag: self.probability_or_none(spec.false_tag, &path.key("false_tag")),
            stop_rule,
        }
    }
}

/// Shortest time of a cycle of the former: the longest function and the advance, or the cap.
pub(super) fn shortest_cycle(former: &Former) -> Span {
    let by_functions = former.dwell() + former.advance;
    former.max_cycles_per_min.map_or(by_functions, |cap| by_functions.max(Span::from_seconds(60.0 / cap)))
}
