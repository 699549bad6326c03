//! From bytes to text: UTF-8 only, said kindly where it is not.

use super::Misread;

/// Reads the bytes of a file as UTF-8 text. A byte order mark of UTF-8 stays in the text, so that byte
/// offsets keep their meaning.
///
/// # Errors
/// The text as far as it could be read, and one [`Misread`] at the first byte that is not UTF-8.
pub fn decode(bytes: Vec<u8>) -> Result<String, Box<(String, Misread)>> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        let what = "the file is written in UTF-16, which is not read here";
        return Err(Box::new((String::new(), Misread::new(0..0, what, "save it as UTF-8"))));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let text = String::from_utf8_lossy(&error.as_bytes()[..good]).into_owned();
        let what = format!("byte {good} of the file is not UTF-8 text");
        Box::new((text, Misread::new(good..good, what, "save the file as UTF-8")))
    })
}
