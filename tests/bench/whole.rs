//! From bytes to figures, beside a plain pandas + NumPy + SciPy script over the same files in the same run.
//!
//! ```text
//! cargo build --release --example analyze && cargo bench --bench whole
//! ```
//! Files are invented and written to `target/bench-data`. Wall times are the best of three (in process of five); memory is the largest
//! resident set of the process. The script is `tests/reference/analyze_script.py`, run by `$TARSAL_PYTHON` or python3.
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;
use tarsal::answer::{Options, Stream};
use tarsal::invented::{Jump, Random};

/// What one way over one file cost.
#[derive(Clone, Copy)]
struct Cost {
    seconds: f64,
    cpu_s: f64,
    peak_mb: f64,
}

fn main() {
    let folder = target().join("bench-data");
    std::fs::create_dir_all(&folder).expect("target/ can be written");
    let sizes = [("ten_seconds.csv", 1, 0), ("session_10.csv", usize::MAX, 10), ("session_20.csv", usize::MAX, 20)];
    let more = [("session_40.csv", usize::MAX, 40), ("session_100.csv", usize::MAX, 100)];
    let files: Vec<File> = sizes.into_iter().chain(more).map(|(name, jumps, mb)| write(&folder, name, jumps, mb)).collect();

    println!("In process: bytes -> figures with their uncertainty\n{:22} {:>9} {:>6} {:>11} {:>9}", "file", "MB", "jumps", "ms", "MB/s");
    let seconds = in_process(&files);
    let [one_s, ..] = seconds[..] else { return };
    let per_mb: Vec<f64> = files.iter().zip(&seconds).map(|(f, s)| s / f.megabytes).skip(1).take(3).collect();
    told("10 s file under 15 ms", one_s < 0.015);
    let slowest = per_mb.iter().copied().fold(0.0, f64::max);
    let fastest = per_mb.iter().copied().fold(f64::MAX, f64::min);
    told("cost linear in length: cost a MB within 15 % over 10, 20 and 40 MB", slowest < 1.15 * fastest);

    let analyze = target().join("release/examples/analyze");
    if !analyze.is_file() {
        println!("\nThe whole process is not measured: first run `cargo build --release --example analyze`.");
        return;
    }
    println!("\nWhole process\n{:22} {:>16} {:>11} {:>11} {:>11}", "file", "program", "wall ms", "CPU ms", "peak MB");
    for file in [&files[0], &files[4]] {
        let ours = process(file, "analyze", Path::new(&analyze), &[]);
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/analyze_script.py");
        let python = std::env::var("TARSAL_PYTHON").unwrap_or_else(|_| "python3".into());
        let theirs = process(file, "pandas script", Path::new(&python), &[script.as_path()]);
        let (Some(ours), Some(theirs)) = (ours, theirs) else { continue };
        let (faster, smaller) = (theirs.seconds / ours.seconds, theirs.peak_mb / ours.peak_mb);
        let cpu = theirs.cpu_s / ours.cpu_s;
        told(&format!("at least 4 times as fast as the script: {faster:.1} (processor time: {cpu:.1})"), faster >= 4.0);
        told(&format!("in a quarter of its memory: 1/{smaller:.1}"), smaller >= 4.0);
    }
}

fn told(target: &str, met: bool) {
    println!("  {} {target}", if met { "met:   " } else { "MISSED:" });
}

/// The folder cargo builds into, from this program's own place (`target/release/deps`).
fn target() -> PathBuf {
    let own = std::env::current_exe().expect("a program knows its place");
    own.ancestors().nth(3).expect("deps lie two folders under target").to_path_buf()
}

/// One invented recording on disk.
struct File {
    path: PathBuf,
    megabytes: f64,
    jumps: usize,
}

/// Invented jumps of one athlete one after the other, standing between, up to `jumps` or `megabytes`.
fn write(folder: &Path, name: &str, jumps: usize, megabytes: usize) -> File {
    let mut random = Random::new(31);
    let kinds: Vec<[Vec<f64>; 2]> = (0..12)
        .map(|_| {
            let jump = Jump {
                height_m: random.between(0.27, 0.36),
                depth_m: random.between(0.27, 0.33),
                quiet_s: random.between(3.0, 4.0),
                after_s: 4.5,
                share_right: [0.5, 0.51, 0.52, 0.51, 0.48],
                noise_n: 0.8,
                zero_n: [1.2, -0.7],
                step_n: 0.1,
                seed: random.bits(),
                ..Jump::default()
            };
            jump.record(&jump.truth().expect("these jumps exist"))
        })
        .collect();
    let mut text = String::from("time_s,left_force_N,right_force_N\n");
    let (mut row, mut written) = (0u64, 0);
    for [left, right] in kinds.iter().cycle() {
        for (l, r) in left.iter().zip(right) {
            let _ = writeln!(text, "{}.{:03},{l:.1},{r:.1}", row / 1000, row % 1000);
            row += 1;
        }
        written += 1;
        if written >= jumps || (megabytes > 0 && text.len() >= megabytes * 1_000_000) {
            break;
        }
    }
    let path = folder.join(name);
    std::fs::write(&path, &text).expect("target/ can be written");
    File { path, megabytes: text.len() as f64 / 1e6, jumps: written }
}

/// Best of five, s, of each file in pieces of 256 kB as the page feeds them. The files take turns, so that a busy moment of the
/// machine is not one file's.
fn in_process(files: &[File]) -> Vec<f64> {
    let bytes: Vec<Vec<u8>> = files.iter().map(|f| std::fs::read(&f.path).expect("just written")).collect();
    let mut best = vec![f64::MAX; files.len()];
    for _ in 0..5 {
        for ((file, bytes), best) in files.iter().zip(&bytes).zip(&mut best) {
            let start = Instant::now();
            let mut stream = Stream::new("bench.csv", &Options::default());
            bytes.chunks(1 << 18).for_each(|piece| stream.feed(piece));
            let found = stream.finish();
            *best = best.min(start.elapsed().as_secs_f64());
            assert_eq!(found.answer.trials.len(), file.jumps, "every jump is read: {:?}", found.answer.left_out);
        }
    }
    for (file, best) in files.iter().zip(&best) {
        let name = file.path.file_name().unwrap_or_default().to_string_lossy();
        println!("{name:22} {:9.2} {:6} {:11.2} {:9.0}", file.megabytes, file.jumps, best * 1e3, file.megabytes / best);
    }
    best
}

/// A small Python program that runs another and reports its wall and processor time in seconds and its peak memory in kB. A process of
/// its own between keeps this benchmark's memory out of the child's account, and start-up is counted for both alike.
const METER: &str = "import resource,subprocess,sys,time\nt=time.perf_counter()\n\
    r=subprocess.run(sys.argv[1:],stdout=subprocess.DEVNULL).returncode\n\
    t=time.perf_counter()-t\nu=resource.getrusage(resource.RUSAGE_CHILDREN)\nprint(t,u.ru_utime+u.ru_stime,u.ru_maxrss)\nsys.exit(r)";

/// Best of three of a whole process; `None`, with the reason printed, where it does not run.
fn process(file: &File, label: &str, program: &Path, arguments: &[&Path]) -> Option<Cost> {
    let python = std::env::var("TARSAL_PYTHON").unwrap_or_else(|_| "python3".into());
    let mut best = Cost { seconds: f64::MAX, cpu_s: f64::MAX, peak_mb: 0.0 };
    for _ in 0..3 {
        let mut command = Command::new(&python);
        command.args(["-I", "-c", METER]).arg(program).args(arguments).arg(&file.path);
        // The script's linear algebra picks its own kernels, whatever this machine pins.
        command.env_remove("OPENBLAS_CORETYPE").env_remove("OPENBLAS_L2_SIZE").stderr(Stdio::inherit());
        let output = command.output().ok().filter(|o| o.status.success());
        let text = output.map(|o| String::from_utf8_lossy(&o.stdout).into_owned()).unwrap_or_default();
        let numbers: Vec<f64> = text.split_whitespace().filter_map(|n| n.parse().ok()).collect();
        let [seconds, cpu_s, peak_kb] = numbers.as_slice() else {
            println!("  {label} does not run here ({}): python3 with numpy, scipy and pandas is needed", program.display());
            return None;
        };
        best = Cost { seconds: best.seconds.min(*seconds), cpu_s: best.cpu_s.min(*cpu_s), peak_mb: best.peak_mb.max(peak_kb / 1024.0) };
    }
    let name = file.path.file_name().unwrap_or_default().to_string_lossy();
    println!("{name:22} {label:>16} {:11.1} {:11.1} {:11.1}", best.seconds * 1e3, best.cpu_s * 1e3, best.peak_mb);
    Some(best)
}
