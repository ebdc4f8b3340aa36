//! A page of the site as one file that needs nothing else: opened from a disk, or put into a frame
//! by a website that sends no headers of its own.

use crate::bundle::bundle;
use crate::digest::{base64, sha256};
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// A page in one file.
pub(crate) struct Whole<'a> {
    /// The page of the site that it is made of.
    pub(crate) page: &'a str,
    /// The script that brings it to life.
    pub(crate) script: &'a str,
    /// Style sheets that the page fetches later.
    pub(crate) later: &'a [&'a str],
    /// Texts that the script finds in the page: name and file.
    pub(crate) texts: &'a [(&'a str, &'a str)],
}

/// Makes it out of the whole module, the built site's folder and the folder of what is written by
/// hand.
///
/// # Errors
/// A file that is missing or not understood.
pub(crate) fn make(
    whole: &Whole<'_>,
    module: &[u8],
    site: &Path,
    own: &Path,
) -> Result<String, String> {
    let read = |name: &str| {
        let name = name.trim_start_matches("./");
        let path = [site.join(name), own.join(name)];
        let found = path.iter().find(|path| path.is_file()).unwrap_or(&path[0]);
        fs::read_to_string(found).map_err(|error| format!("{}: {error}", found.display()))
    };
    let script = bundle(&format!("./{}", whole.script), &read)?;
    if script.contains("import.meta") {
        return Err(format!(
            "{}: one file has no address of its parts",
            whole.script
        ));
    }
    let (mut head, mut styles) = (String::new(), String::new());
    let page = read(whole.page)?;
    let (before, after) = page.split_once("</head>").ok_or("the page has no head")?;
    for line in before.lines() {
        if let Some(name) = attribute(line, "<link rel=\"stylesheet\" href=\"") {
            styles += &read(name)?;
        } else if let Some(name) = attribute(line, "<link rel=\"icon\" href=\"") {
            let icon = base64(read(name)?.as_bytes());
            let _ = writeln!(
                head,
                "<link rel=\"icon\" href=\"data:image/svg+xml;base64,{icon}\">"
            );
        } else if ["<link rel=\"preload\"", "<script", "<meta http-equiv"]
            .iter()
            .all(|start| !line.starts_with(start))
        {
            head += line;
            head.push('\n');
        }
    }
    for name in whole.later {
        styles += &read(name)?;
    }
    if !styles.contains("@font-face") {
        // A page whose script brings the faces; here it cannot fetch them.
        let all = read("style.css")?;
        let faces: Vec<&str> = all
            .lines()
            .filter(|line| line.starts_with("@font-face"))
            .collect();
        styles += &faces.join("\n");
        styles.push('\n');
    }
    // Other pages of the site are not here.
    styles += "a[href$=\".html\"] { display: none }\n";
    let styles = with_faces(&styles, site)?;
    let policy = format!(
        "default-src 'none'; script-src '{}' 'wasm-unsafe-eval'; style-src '{}'; font-src data:; \
         img-src data: blob:; worker-src blob:; base-uri 'none'; form-action 'none'",
        sha256(script.as_bytes()),
        sha256(styles.as_bytes())
    );
    let module = base64(&miniz_oxide::deflate::compress_to_vec(module, 9));
    let mut texts = vec![("module", module)];
    for (name, file) in whole.texts {
        texts.push((name, with_faces(&read(file)?, site)?));
    }
    let mut data = String::new();
    for (name, text) in texts {
        if text.contains("</script") || text.contains("<!--") {
            return Err(format!(
                "{name}: it would end the element that it is put into"
            ));
        }
        let _ = writeln!(
            data,
            "<script type=\"text/plain\" id=\"inlined-{name}\">{text}</script>"
        );
    }
    if script.contains("</script") || script.contains("<!--") {
        return Err(format!("{}: it would end its own element", whole.script));
    }
    let (body, end) = after.rsplit_once("</body>").ok_or("the page has no body")?;
    // The policy comes first: it holds for what stands behind it.
    let head = head.replacen(
        "<meta charset=\"utf-8\">\n",
        &format!("<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\n"),
        1,
    );
    Ok(format!(
        "{head}<style>{styles}</style>\n</head>{body}{data}<script>{script}</script>\n</body>{end}"
    ))
}

/// What stands in a line behind its beginning, up to the next quotation mark.
fn attribute<'a>(line: &'a str, start: &str) -> Option<&'a str> {
    line.strip_prefix(start)?.split('"').next()
}

/// The style sheet with the faces that it names in it.
fn with_faces(styles: &str, site: &Path) -> Result<String, String> {
    let mut parts = styles.split("url(fonts/");
    let mut out = parts.next().unwrap_or("").to_owned();
    for part in parts {
        let (name, rest) = part.split_once(')').ok_or("an address without an end")?;
        let path = site.join("fonts").join(name);
        let face = fs::read(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        let _ = write!(out, "url(data:font/woff2;base64,{}){rest}", base64(&face));
    }
    Ok(out)
}
