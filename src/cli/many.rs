//! Study of many plans: each into a folder of its own, as many at a time as there are cores, and a summary of them all.
//!
//! Plans are independent, so each core studies one plan from start to finish, and none waits for another; only where
//! there are fewer plans than cores do several cores share one. Nothing is kept of a study once its files are written:
//! the summary is read from them.
use super::fingerprint::{self, Hash};
use super::inputs::{self, Faults};
use super::output::{self, FINGERPRINT, RESULTS};
use super::plans::{self, PlannedSite};
use super::progress::Telling;
use super::study::{self, Asked, StudyArgs};
use super::{summary, terminal};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::process::ExitCode;
use std::str::FromStr;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use wideenough::opening::Progress;

/// One of N equal shares of the plans: the `index`th of `count`, from 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shard {
    index: usize,
    count: usize,
}

impl FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || "write a share as its number and how many there are, like \"2/8\"".to_owned();
        let (index, count) = text.split_once('/').ok_or_else(wrong)?;
        let number = |word: &str| word.trim().parse::<usize>().map_err(|_| wrong());
        let (index, count) = (number(index)?, number(count)?);
        if (1..=count).contains(&index) {
            Ok(Self { index, count })
        } else {
            Err(format!("of {count} shares the first is 1/{count} and the last {count}/{count}"))
        }
    }
}

impl Shard {
    /// True if the site at this place of the list falls to this share.
    fn takes(self, place: usize) -> bool {
        place % self.count + 1 == self.index
    }
}

/// Outcome of the work on a site.
#[derive(Clone, Copy)]
enum Done {
    Studied,
    Unchanged,
    AtFault,
}

/// Inputs that all studies of a run have in common.
struct Job<'a> {
    args: &'a StudyArgs,
    asked: Asked,
    /// Hash of the program and of its options.
    begun: Hash,
    telling: Telling,
}

/// Studies many plans and writes the summary of all, or one share of them.
pub fn run(args: &StudyArgs) -> Result<ExitCode, Faults> {
    let mut faults = args.beside.unreadable();
    // Faults that every plan would have are reported once.
    for name in &args.vehicles {
        inputs::vehicle(name, None).err().into_iter().for_each(|e| faults.add(e));
    }
    let (asked, found) = (args.asked(), plans::find(&args.plans, &args.out));
    let (asked, found) = match (asked, found) {
        (Ok(asked), Ok(found)) => faults.or((asked, found))?,
        (asked, found) => {
            asked.err().into_iter().chain(found.err()).for_each(|e| faults.add(e));
            return Err(faults);
        }
    };
    if let Some(first) = found.passed_over.first() {
        let (count, first) = (found.passed_over.len(), first.display());
        eprintln!("Skipped, not plans: {count} *.json without GeoJSON features, the first {first}.");
    }
    let mine = |(place, _): &(usize, PlannedSite)| args.shard.is_none_or(|shard| shard.takes(*place));
    let all = found.sites.len();
    let sites: Vec<PlannedSite> =
        found.sites.into_iter().enumerate().filter(mine).map(|(_, site)| site).collect();
    output::make_folder(&args.out)?;
    output::clean_up_when_stopped();
    // Of the options, only the allowances come from a file; a rule's own code has an address that differs from run to
    // run.
    let begun =
        fingerprint::of_this_program().and_value(&args.asked_of_each()).and_value(&asked.gate.allowances);
    let job = Job { args, asked, begun, telling: Telling::of("sites done") };
    let counts = work(&job, &sites)?;
    job.telling.finish();
    let [studied, unchanged, at_fault] = counts;
    let count = sites.len();
    let sites_of = args
        .shard
        .map_or_else(|| format!("Sites: {count}"), |_| format!("Sites in this share: {count} of {all}"));
    eprintln!(
        "{sites_of}; {studied} studied, {unchanged} not studied again as nothing has changed, {at_fault} at fault."
    );
    let folders = || sites.iter().map(|site| (site.name.clone(), args.out.join(&site.name)));
    if args.shard.is_some() {
        let totals = summary::totals(folders())?;
        eprintln!("When every share is done: wideenough summary {}", args.out.display());
        return Ok(summary::status(&totals));
    }
    let totals = summary::write(&args.out, folders())?;
    terminal::print(&totals.text())?;
    let strangers = summary::sites_in(&args.out)?
        .iter()
        .filter(|(name, _)| !sites.iter().any(|s| s.name == *name))
        .count();
    if strangers > 0 {
        eprintln!(
            "{}: the summary leaves out folders of other studies that are there, {strangers} in all; `wideenough summary` \
             takes all that are there.",
            args.out.display()
        );
    }
    eprintln!("Written to {}: {}.", args.out.display(), summary::FILES.join(", "));
    Ok(summary::status(&totals))
}

/// Studies the sites, and counts how each ended. Stops if files cannot be written.
fn work(job: &Job, sites: &[PlannedSite]) -> Result<[usize; 3], Faults> {
    let cores = rayon::current_num_threads();
    let workers = cores.min(sites.len()).max(1);
    let (next, done, stop) = (AtomicUsize::new(0), AtomicUsize::new(0), AtomicBool::new(false));
    let ended: Mutex<(Faults, [usize; 3])> = Mutex::new((Faults::default(), [0; 3]));
    let worker = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).stack_size(STACK_BYTES).build();
        while !stop.load(Ordering::Relaxed) {
            let Some(site) = sites.get(next.fetch_add(1, Ordering::Relaxed)) else { break };
            let result = match &pool {
                Ok(pool) => pool.install(|| one(job, site)),
                Err(_) => one(job, site),
            };
            let mut ended = ended.lock().unwrap_or_else(PoisonError::into_inner);
            match result {
                Ok(how) => ended.1[how as usize] += 1,
                Err(e) => {
                    ended.0.add(e);
                    stop.store(true, Ordering::Relaxed);
                }
            }
            let done = done.fetch_add(1, Ordering::Relaxed) + 1;
            job.telling.show(Progress { done, total: sites.len() });
        }
    };
    std::thread::scope(|scope| {
        for i in 0..workers {
            let threads = cores / workers + usize::from(i < cores % workers);
            let worker = &worker;
            scope.spawn(move || worker(threads.max(1)));
        }
    });
    let (faults, counts) = ended.into_inner().unwrap_or_else(PoisonError::into_inner);
    faults.or(counts)
}

/// Stack size for a study, equal to that of a program's main thread.
const STACK_BYTES: usize = 8 << 20;

/// Studies a site unless its study is current. Faults of its plan are written into its folder; an error is a fault of
/// the folder.
fn one(job: &Job, site: &PlannedSite) -> Result<Done, Faults> {
    let (args, folder) = (job.args, job.args.out.join(&site.name));
    let at_fault = |faults: &Faults| {
        job.telling.aside(&inputs::tidy_lines(&faults.to_string()));
        output::write_faults(&folder, faults.messages())?;
        Ok(Done::AtFault)
    };
    output::prepare(&folder)?;
    let read = match study::read(args, &site.plan).and_then(|read| study::ready(args, &site.plan, read)) {
        Ok(read) => read,
        Err(faults) => return at_fault(&faults),
    };
    let inputs = {
        // Vehicle files named in a changed plan are relative to where that plan will lie.
        let named = |name: &str| inputs::named_from(&folder, &read.beside, name);
        let names: Vec<String> = read.site.vehicles.iter().map(|v| named(&v.vehicle)).collect();
        let names = if args.fix { names } else { Vec::new() };
        let hash = job.begun.clone().and(read.text.as_bytes());
        hash.and_value(&read.site).and_value(&read.vehicles).and_value(&names).hex()
    };
    if !args.again && fingerprint::is_current(&folder, &inputs) {
        return Ok(Done::Unchanged);
    }
    read.site.warnings.iter().for_each(|warning| job.telling.aside(&format!("warning: {warning}")));
    let telling = |_| Telling::nothing();
    let made = guarded(&site.plan, || study::work_out(args, read, &job.asked, &folder, &telling));
    let files = match made {
        Ok((_, files)) => files,
        Err(faults) => return at_fault(&faults),
    };
    output::write(&folder, &files)?;
    if let Some(results) = files.get(RESULTS) {
        output::write_file(&folder.join(FINGERPRINT), fingerprint::text(&inputs, results).as_bytes())?;
    }
    Ok(Done::Studied)
}

/// Runs the work on a plan and catches a panic: a fault of this program must not end the study of all others.
fn guarded<T>(plan: &Path, work: impl FnOnce() -> Result<T, Faults>) -> Result<T, Faults> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|panic| {
        let said = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
        let said = said.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_default();
        let message = "the study failed, which is a fault of this program";
        Err(Faults::one(format!("{}: {message}: {said}", plan.display())))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_study_that_breaks_off_is_a_fault_of_its_plan() {
        let broken =
            |work: fn() -> Result<(), Faults>| guarded(Path::new("a.geojson"), work).unwrap_err().to_string();
        assert_eq!(broken(|| Err(Faults::one("no gate"))), "no gate");
        let told = broken(|| panic!("no leg {}", 7));
        assert_eq!(told, "a.geojson: the study failed, which is a fault of this program: no leg 7");
        assert!(guarded(Path::new("a.geojson"), || Ok(())).is_ok());
    }

    #[test]
    fn every_site_falls_to_one_share() {
        let shares: Vec<Shard> = (1..=4).map(|i| format!("{i}/4").parse().unwrap()).collect();
        for place in 0..23 {
            assert_eq!(shares.iter().filter(|share| share.takes(place)).count(), 1, "{place}");
        }
        for share in &shares {
            let count = (0..23).filter(|place| share.takes(*place)).count();
            assert!((5..=6).contains(&count), "{share:?}: {count}");
        }
        for wrong in ["", "3", "0/4", "5/4", "1/0", "a/b", "-1/4", "1/4/2"] {
            assert!(wrong.parse::<Shard>().is_err(), "{wrong}");
        }
    }
}
