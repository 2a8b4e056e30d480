//! Fetching one file from the web, with bounds on everything.

use std::io::{self, Read as _};
use std::time::Duration;

use ureq::http::{Response, StatusCode, header};
use ureq::{Agent, Body};

use crate::terms::WebAddress;

/// How often an answer may point on to another place.
const REDIRECTS: usize = 5;

/// How much a request may take.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Bytes of the answer.
    pub bytes: u64,
    /// From the first byte sent to the last one received.
    pub whole: Duration,
    /// Until somebody takes up the line.
    pub connect: Duration,
}

impl Default for Limits {
    /// Every satellite there is in the longest form (30 MB as XML), over a slow line.
    fn default() -> Self {
        Self { bytes: 64 << 20, whole: Duration::from_secs(180), connect: Duration::from_secs(20) }
    }
}

/// By which a server can tell that its file is still the one that was fetched before.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Conditions {
    /// The file's mark.
    pub etag: Option<String>,
    /// The file's time of change, in the server's words.
    pub last_modified: Option<String>,
}

/// What came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// The file, and what to ask with the next time.
    Fetched(String, Conditions),
    /// The conditions still hold.
    NotModified,
}

/// Why nothing came.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FetchError {
    /// No server was reached, so none was burdened.
    #[error("can't be reached: {0}")]
    Unreachable(String),
    /// A server was asked.
    #[error("{0}")]
    Failed(String),
}

/// Fetches a file.
///
/// # Errors
/// In words.
pub fn fetch(url: &WebAddress, conditions: &Conditions, limits: Limits) -> Result<Answer, FetchError> {
    let agent: Agent = Agent::config_builder()
        .http_status_as_error(false)
        // Each place that an answer points to is checked before it is asked.
        .max_redirects(0)
        .max_redirects_will_error(false)
        .timeout_connect(Some(limits.connect))
        .timeout_global(Some(limits.whole))
        .user_agent(concat!("beamhand/", env!("CARGO_PKG_VERSION")))
        .build()
        .into();
    let mut url = url.clone();
    for _ in 0..=REDIRECTS {
        let response = ask(&agent, &url, conditions)?;
        if !is_redirect(response.status()) {
            return read(response, conditions, limits);
        }
        let to = header_of(&response, header::LOCATION).unwrap_or_default();
        url = url
            .pointed_to(&to)
            .map_err(|error| FetchError::Failed(format!("it points elsewhere: {error}")))?;
    }
    Err(FetchError::Failed(format!("it points elsewhere more than {REDIRECTS} times")))
}

fn ask(agent: &Agent, url: &WebAddress, conditions: &Conditions) -> Result<Response<Body>, FetchError> {
    let mut request = agent.get(url.as_str()).header(header::ACCEPT_ENCODING, "identity");
    if let Some(etag) = &conditions.etag {
        request = request.header(header::IF_NONE_MATCH, etag);
    }
    if let Some(since) = &conditions.last_modified {
        request = request.header(header::IF_MODIFIED_SINCE, since);
    }
    request.call().map_err(|error| match &error {
        ureq::Error::HostNotFound
        | ureq::Error::ConnectionFailed
        | ureq::Error::Timeout(ureq::Timeout::Resolve | ureq::Timeout::Connect) => {
            FetchError::Unreachable(error.to_string())
        }
        ureq::Error::Io(cause) if is_before_contact(cause) => FetchError::Unreachable(cause.to_string()),
        _ => FetchError::Failed(error.to_string()),
    })
}

fn is_before_contact(error: &io::Error) -> bool {
    use io::ErrorKind::{ConnectionRefused, HostUnreachable, NetworkDown, NetworkUnreachable};
    // A name that can't be resolved has no kind of its own, only the standard library's words.
    matches!(error.kind(), ConnectionRefused | HostUnreachable | NetworkDown | NetworkUnreachable)
        || error.to_string().starts_with("failed to lookup address")
}

fn is_redirect(status: StatusCode) -> bool {
    matches!(status.as_u16(), 301 | 302 | 303 | 307 | 308)
}

fn read(response: Response<Body>, conditions: &Conditions, limits: Limits) -> Result<Answer, FetchError> {
    let fresh = Conditions {
        etag: header_of(&response, header::ETAG),
        last_modified: header_of(&response, header::LAST_MODIFIED),
    };
    match response.status() {
        StatusCode::OK => {}
        StatusCode::NOT_MODIFIED if *conditions != Conditions::default() => return Ok(Answer::NotModified),
        other => return Err(FetchError::Failed(format!("it answers {other}"))),
    }
    // None was asked for; some servers send their stored files that way all the same.
    let packed = header_of(&response, header::CONTENT_ENCODING).filter(|how| how != "identity");
    if packed.is_some() {
        return Err(FetchError::Failed("the answer is packed, and was asked for as plain text".to_owned()));
    }
    let mut bytes = Vec::new();
    let body = response.into_body().into_with_config().limit(u64::MAX).reader();
    body.take(limits.bytes + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| FetchError::Failed(format!("the answer breaks off: {error}")))?;
    if bytes.len() as u64 > limits.bytes {
        return Err(FetchError::Failed(format!("the answer is larger than {} MiB", limits.bytes >> 20)));
    }
    if bytes.contains(&0) {
        return Err(FetchError::Failed("the answer is no text: a packed file, or a picture".to_owned()));
    }
    // A name in another encoding costs that name and no more.
    Ok(Answer::Fetched(String::from_utf8_lossy(&bytes).into_owned(), fresh))
}

fn header_of(response: &Response<Body>, name: header::HeaderName) -> Option<String> {
    response.headers().get(name)?.to_str().ok().map(str::to_owned)
}
