//! Slips that are easily made and that a parser's own words do not explain: each as the end of an
//! error's sentence.

/// Of a syntax error at `offset`.
pub(super) fn of_syntax(text: &str, offset: usize, message: &str) -> Option<String> {
    if message.starts_with("duplicate key") {
        return switched_off_above(text, offset);
    }
    let line = text.get(..offset)?.rsplit('\n').next()?;
    let in_a_value = line.contains('=') && !line.trim_start().starts_with('#');
    in_a_value.then(|| " (text stands in \"quotes\", decimals take a point)".to_owned())
}

/// The head of a section that is switched off between the key at `offset` and the head of the
/// section that the key has got into.
pub(super) fn switched_off_above(text: &str, offset: usize) -> Option<String> {
    let mut above = text.get(..offset)?.lines().rev().map(str::trim);
    let head = above.find_map(|line| match line.strip_prefix('#') {
        Some(off) if is_head(off.trim_start()) => Some(Some(off.trim_start())),
        None if is_head(line) => Some(None),
        _ => None,
    })??;
    Some(format!(" (is the line `{head}` above it still switched off with \"#\"?)"))
}

/// `[rotator]` or `[[radio]]`, and nothing else on the line.
fn is_head(line: &str) -> bool {
    let inner = line.strip_prefix('[').and_then(|rest| rest.strip_suffix(']'));
    let is_name =
        |name: &str| !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || "._-".contains(c));
    inner.is_some_and(|inner| {
        is_name(inner.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')).unwrap_or(inner))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_head_that_is_switched_off_since_the_last_live_one_is_meant() {
        let above = |text: &str| switched_off_above(text, text.len());
        let radio = Some(" (is the line `[[radio]]` above it still switched off with \"#\"?)".to_owned());
        assert_eq!(above("[session]\n# Words.\n#[[radio]]\n#a = 1\n"), radio);
        assert_eq!(above("# [[radio]]\r\n"), radio);
        assert_eq!(above("#[[radio]]\n[rotator]\n"), None);
        assert_eq!(above("# Each has its own [[radio]] section.\n"), None);
        assert_eq!(above("#raise = []\n#[]\n#[a b]\n"), None);
    }
}
