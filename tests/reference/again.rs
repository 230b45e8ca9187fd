//! The tables are what their scripts make.
use super::table::number;
use std::{
    path::Path,
    process::{Command, Output},
};

const TABLES: [(&str, &str, usize); 13] = [
    (
        "refrigerants.py",
        include_str!("tables/refrigerants.csv"),
        7,
    ),
    ("water.py", include_str!("tables/water.csv"), 50),
    ("curves.py", include_str!("tables/curves.csv"), 3),
    (
        "leak_and_gas.py",
        include_str!("tables/leak_and_gas.csv"),
        2,
    ),
    ("moist_air.py", include_str!("tables/moist_air.csv"), 77),
    ("cooled_air.py", include_str!("tables/cooled_air.csv"), 200),
    ("cylinders.py", include_str!("tables/cylinders.csv"), 16),
    ("leaks.py", include_str!("tables/leaks.csv"), 12),
    ("gases.py", include_str!("tables/gases.csv"), 4),
    ("real_vapour.py", include_str!("tables/real_vapour.csv"), 4),
    ("expansion.py", include_str!("tables/expansion.csv"), 20),
    ("amounts.py", include_str!("tables/amounts.csv"), 85),
    ("vin.py", include_str!("tables/vin.csv"), 9),
];

fn python(script: &Path, argument: &str) -> Option<String> {
    let python = std::env::var("CHILLWRIGHT_PYTHON").unwrap_or_else(|_| "python3".into());
    let answered = |output: Output| {
        output
            .status
            .success()
            .then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
    };
    Command::new(python)
        .arg(script)
        .arg(argument)
        .output()
        .ok()
        .and_then(answered)
}

/// A row of each table comes out again where Python has the library; where it has not, this says so and proves nothing.
#[test]
fn a_row_of_each_table_comes_out_again() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference");
    for (script, table, row) in TABLES {
        let Some(made) = python(&folder.join(script), &row.to_string()) else {
            println!("{script}: not run, Python with its library is not there");
            continue;
        };
        let kept = table.lines().nth(row + 2).unwrap_or_default();
        assert_eq!(made.split(',').count(), kept.split(',').count(), "{script}");
        for (ours, kept) in made.split(',').zip(kept.split(',')) {
            let same = ours == kept || (number(ours) / number(kept) - 1.0).abs() < 1e-7;
            assert!(same, "{script}: {ours} against {kept}");
        }
    }
}

/// The first line of each table names its library with the version, its script, and the script's hash; the hash is that of the script beside it.
#[test]
fn each_table_says_what_made_it() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference");
    let hash =
        "import hashlib, sys; print(hashlib.sha256(open(sys.argv[1], 'rb').read()).hexdigest())";
    for (script, table, _) in TABLES {
        let head = table.lines().next().unwrap_or_default();
        let (library, said) = head
            .split_once(&format!(", {script}, sha256 "))
            .unwrap_or_else(|| panic!("{script}: {head}"));
        assert!(
            library.starts_with("# ")
                && library.chars().any(|c| c.is_ascii_digit())
                && said.len() == 64,
            "{head}"
        );
        let output = Command::new("python3")
            .args(["-c", hash])
            .arg(folder.join(script))
            .output();
        match output {
            Ok(output) if output.status.success() => {
                assert_eq!(
                    String::from_utf8_lossy(&output.stdout).trim(),
                    said,
                    "{script} was changed after its table was made"
                )
            }
            _ => println!("{script}: its hash was not looked at, Python is not there"),
        }
    }
}
