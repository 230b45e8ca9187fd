//! `serve --tls auto`, as it is built: what it prints, what it keeps, how it stops.
use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::Path,
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

/// Starts the server; what it prints until it has said all that it says at the start, and its port.
fn serve(folder: &Path, arguments: &[&str]) -> (Child, Vec<String>, u16) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_chillwright"))
        .args(["serve", "--listen", "127.0.0.1:0"])
        .args(arguments)
        .current_dir(folder)
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut lines = Vec::new();
    let mut printed = BufReader::new(child.stdout.take().expect("its output")).lines();
    while let Some(Ok(line)) = printed.next() {
        lines.push(line);
        if lines.last().is_some_and(|l| l.contains("enter this code")) {
            break;
        }
    }
    std::thread::spawn(move || printed.for_each(drop));
    let port = lines
        .iter()
        .find_map(|l| l.rsplit_once("127.0.0.1:"))
        .and_then(|(_, p)| p.parse().ok());
    (
        child,
        lines.clone(),
        port.unwrap_or_else(|| panic!("{lines:?}")),
    )
}

/// Asks it to stop while somebody holds a half request open; how long it took, and whether it ended well.
fn stop(mut child: Child, port: u16) -> (Duration, bool) {
    let mut held = TcpStream::connect(("127.0.0.1", port)).expect("a connection");
    held.write_all(b"POST /start HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nhalf")
        .expect("begun");
    std::thread::sleep(Duration::from_millis(200));
    let begun = Instant::now();
    Command::new("kill")
        .args(["-TERM", &child.id().to_string()])
        .status()
        .expect("asked to stop");
    let status = child.wait().expect("an end");
    (begun.elapsed(), status.success())
}

fn get(port: u16, path: &str) -> Vec<u8> {
    let mut line = TcpStream::connect(("127.0.0.1", port)).expect("a connection");
    write!(
        line,
        "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n"
    )
    .expect("asked");
    let mut answer = Vec::new();
    line.read_to_end(&mut answer).expect("an answer");
    answer
}

#[test]
fn the_terminal_tells_what_to_compare_and_the_authority_stays() {
    let folder = tempfile::tempdir().expect("a folder");
    let (child, printed, port) = serve(folder.path(), &["--tls", "auto", "--name", "shop.test"]);
    assert!(
        printed
            .iter()
            .any(|l| l.contains(&format!("https://shop.test:{port}"))),
        "{printed:?}"
    );
    let told = |printed: &[String]| {
        printed
            .iter()
            .find_map(|l| l.trim().strip_prefix("SHA-256 ").map(str::to_owned))
            .expect("a fingerprint")
    };
    let answer = get(port, "/trust/authority.crt");
    let body = answer
        .windows(4)
        .position(|w| w == b"\r\n\r\n")
        .expect("a head")
        + 4;
    let digest = <sha2::Sha256 as sha2::Digest>::digest(&answer[body..]);
    assert_eq!(
        told(&printed).replace(':', "").to_lowercase(),
        hex::encode(digest)
    );
    let (took, well) = stop(child, port);
    assert!(well && took < Duration::from_millis(3500), "{took:?}");

    let (again, printed_again, port) =
        serve(folder.path(), &["--tls", "auto", "--name", "shop.test"]);
    assert_eq!(
        told(&printed_again),
        told(&printed),
        "the same authority after a new start"
    );
    stop(again, port);
    assert_eq!(
        std::fs::read_dir(folder.path().join("chillwright.tls"))
            .expect("the folder")
            .count(),
        1
    );
}

#[test]
fn without_tls_it_serves_as_before() {
    let folder = tempfile::tempdir().expect("a folder");
    let (child, printed, port) = serve(folder.path(), &[]);
    assert!(
        printed[0].contains(&format!("http://127.0.0.1:{port}")),
        "{printed:?}"
    );
    assert!(
        get(port, "/start").starts_with(b"HTTP/1.1 200")
            && !folder.path().join("chillwright.tls").exists()
    );
    let (took, well) = stop(child, port);
    assert!(well && took < Duration::from_millis(3500), "{took:?}");
}

#[test]
fn a_name_that_is_none_is_refused() {
    for arguments in [
        &["--tls", "auto", "--name", "a b"][..],
        &["--name", "shop.test"],
        &["--tls", "other"],
    ] {
        let folder = tempfile::tempdir().expect("a folder");
        let output = Command::new(env!("CARGO_BIN_EXE_chillwright"))
            .arg("serve")
            .args(arguments)
            .current_dir(folder.path())
            .output()
            .expect("an end");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert_eq!(
            std::fs::read_dir(folder.path())
                .expect("the folder")
                .count(),
            0
        );
    }
}
