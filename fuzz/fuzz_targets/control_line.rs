//! What comes over the control socket: lines are found wherever the bytes are cut, and each is a
//! request or is answered.
#![no_main]

use beamhand::control::{LineBuffer, Request, to_line};

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    let Some((cut, bytes)) = data.split_first() else { return };
    let (mut whole, mut parts) = (LineBuffer::default(), LineBuffer::default());
    whole.feed(bytes);
    let lines: Vec<_> = std::iter::from_fn(|| whole.next_line()).collect();
    let mut cut_lines = Vec::new();
    for part in bytes.chunks(usize::from(*cut).max(1)) {
        parts.feed(part);
        cut_lines.extend(std::iter::from_fn(|| parts.next_line()));
    }
    assert_eq!(format!("{lines:?}"), format!("{cut_lines:?}"));
    for line in lines.into_iter().flatten() {
        match Request::parse(&line) {
            Ok(request) => {
                // Times are written to the millisecond, and may have come with more.
                let written = again(&request);
                assert_eq!(again(&written), written);
            }
            Err(response) => drop(to_line(&response).ok()),
        }
    }
});

/// The request as it is after it was written and read once more.
fn again(request: &Request) -> Request {
    let line = to_line(request).unwrap_or_else(|error| unreachable!("{error:?}"));
    let text = String::from_utf8(line).unwrap_or_else(|error| unreachable!("{error}"));
    Request::parse(text.trim_end()).unwrap_or_else(|error| unreachable!("{error:?}"))
}
