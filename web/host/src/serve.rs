//! A small server of files on this machine only.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::thread;
use std::time::Duration;

/// Ports tried after the first one.
const TRIES: u16 = 50;
/// Longest head of a request.
const HEAD: u64 = 16 * 1024;

/// Serves the folder until the process ends.
pub(crate) fn serve(folder: &Path, port: Option<u16>) -> Result<(), String> {
    if !folder.join("index.html").is_file() {
        return Err(format!(
            "{} holds no site: build it first.",
            folder.display()
        ));
    }
    let (listener, port) = listen(port)?;
    println!("http://127.0.0.1:{port}/");
    let folder = Arc::new(folder.to_path_buf());
    for stream in listener.incoming().flatten() {
        let folder = Arc::clone(&folder);
        thread::spawn(move || {
            // A visitor who goes away in the middle is none of our business.
            let _ = answer(stream, &folder);
        });
    }
    Ok(())
}

fn listen(port: Option<u16>) -> Result<(TcpListener, u16), String> {
    let (first, tries) = port.map_or((8000, TRIES), |port| (port, 1));
    let mut last = String::new();
    for port in (first..=u16::MAX).take(tries.into()) {
        match TcpListener::bind((Ipv4Addr::LOCALHOST, port)) {
            Ok(listener) => {
                let port = listener.local_addr().map_or(port, |address| address.port());
                return Ok((listener, port));
            }
            Err(error) => last = format!("port {port}: {error}"),
        }
    }
    Err(last)
}

fn answer(mut stream: TcpStream, folder: &Path) -> std::io::Result<()> {
    stream.set_read_timeout(Some(Duration::from_secs(20)))?;
    let mut reader = BufReader::new(stream.try_clone()?).take(HEAD);
    let mut first = String::new();
    reader.read_line(&mut first)?;
    let mut line = String::new();
    while reader.read_line(&mut line)? > 2 {
        line.clear();
    }
    let response = respond(&first, folder);
    stream.write_all(&response)
}

/// The whole response to a request line.
fn respond(request: &str, folder: &Path) -> Vec<u8> {
    let mut words = request.split_whitespace();
    let (method, target) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
    if !matches!(method, "GET" | "HEAD") {
        return response(
            "405 Method Not Allowed",
            "text/plain; charset=utf-8",
            b"Only GET and HEAD.\n",
            true,
        );
    }
    let with_body = method == "GET";
    let found = locate(target, folder).and_then(|path| Some((kind(&path), fs::read(path).ok()?)));
    match found {
        Some((kind, body)) => response("200 OK", kind, &body, with_body),
        None => response(
            "404 Not Found",
            "text/plain; charset=utf-8",
            b"There is no such file here.\n",
            with_body,
        ),
    }
}

fn response(status: &str, kind: &str, body: &[u8], with_body: bool) -> Vec<u8> {
    let mut out = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nCache-Control: no-cache\r\n\
         Access-Control-Allow-Origin: *\r\nX-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\n",
        body.len()
    )
    .into_bytes();
    if with_body {
        out.extend_from_slice(body);
    }
    out
}

/// The file a request target stands for; only files inside the folder have one.
fn locate(target: &str, folder: &Path) -> Option<PathBuf> {
    let path = target.split(['?', '#']).next()?;
    let decoded = decode(path)?;
    let mut found = folder.to_path_buf();
    for component in Path::new(decoded.strip_prefix('/')?).components() {
        match component {
            Component::Normal(name) if !name.to_string_lossy().contains(['\\', ':', '\0']) => {
                found.push(name);
            }
            Component::CurDir => {}
            _ => return None,
        }
    }
    if found.is_dir() {
        found.push("index.html");
    }
    // A link inside the folder must not lead out of it either.
    let (real, root) = (found.canonicalize().ok()?, folder.canonicalize().ok()?);
    (real.starts_with(root) && real.is_file()).then_some(real)
}

/// Percent-decoding; `None` for what is no text.
fn decode(path: &str) -> Option<String> {
    let mut bytes = path.bytes();
    let mut out = Vec::new();
    while let Some(byte) = bytes.next() {
        if byte == b'%' {
            let mut digit = || char::from(bytes.next()?).to_digit(16);
            let value = digit()? * 16 + digit()?;
            out.push(u8::try_from(value).ok()?);
        } else {
            out.push(byte);
        }
    }
    String::from_utf8(out).ok()
}

fn kind(path: &Path) -> &'static str {
    match path.extension().and_then(|extension| extension.to_str()) {
        Some("html") => "text/html; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("woff2") => "font/woff2",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("json") => "application/json",
        Some("md" | "txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder with a site in it and a secret beside it.
    fn folder(name: &str) -> PathBuf {
        let base =
            std::env::temp_dir().join(format!("ordinary-point-{name}-{}", std::process::id()));
        let site = base.join("site");
        fs::create_dir_all(site.join("fonts")).unwrap();
        fs::write(site.join("index.html"), "<p>home").unwrap();
        fs::write(site.join("web.wasm"), [0, 97]).unwrap();
        fs::write(site.join("fonts").join("a b.woff2"), "face").unwrap();
        fs::write(base.join("secret"), "no").unwrap();
        site
    }

    fn text(request: &str, folder: &Path) -> String {
        String::from_utf8_lossy(&respond(request, folder)).into_owned()
    }

    #[test]
    fn files_come_with_their_kind() {
        let site = folder("kinds");
        let home = text("GET / HTTP/1.1", &site);
        assert!(
            home.starts_with("HTTP/1.1 200")
                && home.contains("text/html")
                && home.ends_with("\r\n\r\n<p>home"),
            "{home}"
        );
        assert!(text("GET /web.wasm?x=/.. HTTP/1.1", &site).contains("application/wasm"));
        assert!(text("GET /fonts/a%20b.woff2 HTTP/1.1", &site).contains("font/woff2"));
        // Pages of others may show problems from here.
        assert!(home.contains("Access-Control-Allow-Origin: *"), "{home}");
        let head = text("HEAD / HTTP/1.1", &site);
        assert!(
            head.contains("Content-Length: 7") && head.ends_with("\r\n\r\n"),
            "{head}"
        );
        assert!(text("POST / HTTP/1.1", &site).starts_with("HTTP/1.1 405"));
        assert!(text("GET /other HTTP/1.1", &site).starts_with("HTTP/1.1 404"));
        assert!(text("", &site).starts_with("HTTP/1.1 405"));
    }

    #[test]
    fn nothing_outside_the_folder_is_served() {
        let site = folder("outside");
        for target in [
            "/../secret",
            "/%2e%2e/secret",
            "/..%2fsecret",
            "/fonts/../../secret",
            "//etc/passwd",
            "/%2Fetc/passwd",
            "/..\\secret",
            "/C:/secret",
            "secret",
            "/%00",
            "/%ff",
            "/%2",
            "http://127.0.0.1/../secret",
        ] {
            let answer = text(&format!("GET {target} HTTP/1.1"), &site);
            assert!(answer.starts_with("HTTP/1.1 404"), "{target}: {answer}");
        }
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(site.join("..").join("secret"), site.join("link")).ok();
            assert!(text("GET /link HTTP/1.1", &site).starts_with("HTTP/1.1 404"));
        }
    }
}
