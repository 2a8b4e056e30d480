//! Rust source as words and signs, without comments: just enough of the language to find paths.

/// A word, a sign or a literal, and the line on which it begins (from 1).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Token<'s> {
    pub(crate) text: &'s str,
    pub(crate) line: usize,
}

impl Token<'_> {
    pub(crate) fn is_word(&self) -> bool {
        self.text.starts_with(is_word_char)
    }
}

/// Every token of `source`; `::` is one, a literal is one with its quotes.
pub(crate) fn tokens(source: &str) -> Vec<Token<'_>> {
    let (mut found, mut line, mut rest) = (Vec::new(), 1, source);
    while let Some(first) = rest.chars().next() {
        let skipped = blank(rest);
        let length = skipped.or_else(|| literal(rest)).unwrap_or_else(|| match first {
            _ if is_word_char(first) => span(rest, is_word_char),
            ':' if rest.starts_with("::") => 2,
            _ => first.len_utf8(),
        });
        let (text, after) = rest.split_at(length);
        if skipped.is_none() {
            found.push(Token { text, line });
        }
        line += text.matches('\n').count();
        rest = after;
    }
    found
}

fn is_word_char(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn span(text: &str, belongs: impl Fn(char) -> bool) -> usize {
    text.find(|c| !belongs(c)).unwrap_or(text.len())
}

/// The length of the white space or the comment in front.
fn blank(text: &str) -> Option<usize> {
    if text.starts_with("//") {
        return Some(span(text, |c| c != '\n'));
    }
    if text.starts_with("/*") {
        return Some(block_comment(text));
    }
    Some(span(text, char::is_whitespace)).filter(|length| *length > 0)
}

/// Block comments nest.
fn block_comment(text: &str) -> usize {
    let (mut depth, mut at) = (0, 0);
    while let Some(mark) = text[at..].find(['/', '*']).map(|found| found + at) {
        let opens = text[mark..].starts_with("/*");
        let closes = text[mark..].starts_with("*/");
        at = mark + if opens || closes { 2 } else { 1 };
        depth = depth + i32::from(opens) - i32::from(closes);
        if depth == 0 {
            return at;
        }
    }
    text.len()
}

/// The length of the string or character in front.
fn literal(text: &str) -> Option<usize> {
    let prefix = usize::from(text.starts_with(['b', 'c']));
    let bare = &text[prefix..];
    let length = match bare.chars().next()? {
        'r' => raw_string(bare)?,
        '"' => quoted(bare, '"'),
        '\'' => character(bare)?,
        _ => return None,
    };
    Some(prefix + length)
}

fn raw_string(text: &str) -> Option<usize> {
    let hashes = span(&text[1..], |c| c == '#');
    let inside = text[1 + hashes..].strip_prefix('"')?;
    let end = format!("\"{}", "#".repeat(hashes));
    let begin = text.len() - inside.len();
    Some(inside.find(&end).map_or(text.len(), |at| begin + at + end.len()))
}

fn quoted(text: &str, quote: char) -> usize {
    let mut escaped = true; // the opening quote
    let end = text.char_indices().find(|(_, c)| {
        let ends = *c == quote && !escaped;
        escaped = *c == '\\' && !escaped;
        ends
    });
    end.map_or(text.len(), |(at, _)| at + 1)
}

/// `'x'` and `'\n'` are characters; `'x` is a lifetime.
fn character(text: &str) -> Option<usize> {
    let mut inside = text[1..].chars();
    let first = inside.next()?;
    (first == '\\' || inside.next() == Some('\'')).then(|| quoted(text, '\''))
}

mod tests {
    use super::*;

    fn texts(source: &str) -> Vec<&str> {
        tokens(source).into_iter().map(|token| token.text).collect()
    }

    #[test]
    fn comments_vanish_and_code_between_them_stays() {
        assert_eq!(texts("a // crate::b\n/* c /* d */ e */ f /** g */"), ["a", "f"]);
        assert_eq!(texts("/// crate::b\n//! c\na/b*c"), ["a", "/", "b", "*", "c"]);
    }

    #[test]
    fn a_literal_is_one_token_whatever_it_holds() {
        for source in [r#""a \" // b""#, r##"r#"a " b"#"##, "b\"a\"", "'\"'", r"'\''", "b'{'", "\"a\nb\""] {
            assert_eq!(texts(&format!("x {source} y")), ["x", source, "y"]);
        }
    }

    #[test]
    fn lifetimes_are_no_characters() {
        assert_eq!(texts("<'a>('b', &'c d)"), ["<", "'", "a", ">", "(", "'b'", ",", "&", "'", "c", "d", ")"]);
    }

    #[test]
    fn lines_are_counted_through_comments_and_literals() {
        let found = tokens("a\n/* \n */ \"\n\" b::c");
        let lines: Vec<(&str, usize)> = found.iter().map(|token| (token.text, token.line)).collect();
        assert_eq!(lines, [("a", 1), ("\"\n\"", 3), ("b", 4), ("::", 4), ("c", 4)]);
    }
}
