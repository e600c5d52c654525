//! B612, drawn for legibility at a glance: regular and bold, Latin, as woff2.
//!
//! Copyright 2012 The B612 Project Authors, SIL Open Font License 1.1 (`font/OFL.txt`).

use data_encoding::BASE64;

/// Each weight and its file, for whoever shows what the sheet shows.
pub const FACES: [(u16, &[u8]); 2] =
    [(400, include_bytes!("font/b612-regular.woff2")), (700, include_bytes!("font/b612-bold.woff2"))];

/// The rules that bring the font in, the files within them.
pub(super) fn faces() -> String {
    let face = |weight: u16, file: &[u8]| {
        format!(
            "@font-face{{font-family:B612;font-weight:{weight};src:url(data:font/woff2;base64,{}) format('woff2')}}\n",
            BASE64.encode(file)
        )
    };
    let notice = "/* B612: Copyright 2012 The B612 Project Authors, SIL Open Font License 1.1 */\n";
    let faces = FACES.map(|(weight, file)| face(weight, file));
    [notice, &faces.concat()].concat()
}
