//! From a dialect file to a checked [`Dialect`].

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Duration;

use super::super::family::{ADDRESSES, Family};
use super::super::values::Kind;
use super::abilities::{ASK, DO, unread};
use super::document::{Item, Node, Place};
use super::fault::DialectError;
use super::table::{Table, key_value, numbered_tones};
use super::template::{Style, Tables, Template, hex, printable};
use super::{Dialect, LineSettings, Preparation, Verb};
use crate::terms::Hertz;

type Keys = BTreeMap<String, Node>;

/// So many frames in a command, forms of an answer, steps of a preparation. The longest built-in
/// list has nine.
const MOST: usize = 64;

/// Where names stand in a file, of abilities or of steps.
type Places = BTreeMap<String, Place>;

/// Reads the merged tree of the dialect `name`: what there is of it, and every fault.
pub(super) fn dialect(name: &str, root: Node) -> (Option<Dialect>, Vec<DialectError>) {
    let mut reader = Reader { name, errors: Vec::new() };
    let read = reader.dialect(root);
    (read, reader.errors)
}

struct Reader<'n> {
    name: &'n str,
    errors: Vec<DialectError>,
}

impl Reader<'_> {
    fn fault<T>(&mut self, place: Place, text: impl Into<String>) -> Option<T> {
        self.errors.push(DialectError::at(self.name, place, text));
        None
    }

    fn dialect(&mut self, root: Node) -> Option<Dialect> {
        let mut keys = self.keys(root)?;
        let family = self.family(keys.remove("family"))?;
        let style = family.style();
        let line = self.line(keys.remove("line"));
        let step = self.whole(keys.remove("step_hz"), 1..=100_000).unwrap_or(1);
        let resolution = self.degrees(keys.remove("resolution_deg"));
        let tunes_while_transmitting = self.flag(keys.remove("tunes_while_transmitting"));
        let address =
            self.whole(keys.remove("address"), i64::from(*ADDRESSES.start())..=i64::from(*ADDRESSES.end()));
        let address = address.and_then(|address| u8::try_from(address).ok());
        let tables = self.tables(keys.remove("table"), style);
        let refusals_at = keys.get("refused").and_then(|node| node.place);
        let mut list = |reader: &mut Self, key| reader.templates(keys.remove(key), style, &tables);
        let (refused, acknowledged) = (list(self, "refused"), list(self, "acknowledged"));
        self.refusals(refusals_at, family, &refused);
        let unasked = list(self, "unasked");
        let (prepare, named) = self.preparation(keys.remove("prepare"));
        let steps: Vec<&str> = prepare.all().collect();
        let mut verbs = BTreeMap::new();
        let (mut off, mut places) = (BTreeMap::new(), Places::new());
        for (group, known) in [("do", &DO[..]), ("ask", &ASK[..])] {
            let nodes = keys.remove(group).and_then(|node| self.keys(node)).unwrap_or_default();
            for (key, node) in nodes {
                // A base's step that no preparation names any more does no harm.
                let is_inherited = node.place.is_none() || matches!(node.item, Item::Off(_));
                if !is_inherited && !known.contains(&key.as_str()) && !steps.contains(&key.as_str()) {
                    let known = known.join(", ");
                    self.fault::<()>(
                        node.place,
                        format!("unknown ability {group}.{key}; one of {known}, or a step named in prepare"),
                    );
                    continue;
                }
                let (verb, place) = (format!("{group}.{key}"), node.place);
                places.insert(verb.clone(), place);
                if let Item::Off(was) = node.item {
                    // What is not said may be wrong.
                    let faults = self.errors.len();
                    let was = self.verb(&verb, Node { place, item: *was }, family, &tables);
                    self.errors.truncate(faults);
                    off.extend(was.map(|was| (verb, was)));
                } else if let Some(exchange) = self.verb(&verb, node, family, &tables) {
                    verbs.insert(verb, exchange);
                }
            }
        }
        self.leftovers("", keys);
        let line = line?;
        let dialect = Dialect {
            name: self.name.to_owned(),
            root: None,
            family,
            line,
            step: Hertz(step),
            resolution,
            tunes_while_transmitting,
            address,
            refused: refused.into(),
            acknowledged: acknowledged.into(),
            unasked: unasked.into(),
            prepare,
            tables,
            verbs,
            off,
        };
        self.steps_exist(&dialect, |step| {
            let of = |places: &Places, name: &str| places.get(name).copied().flatten();
            of(&places, &format!("do.{step}")).or_else(|| of(&named, step))
        });
        Some(dialect)
    }

    /// `place`: where a step's command stands, or where the preparation names it.
    fn steps_exist(&mut self, dialect: &Dialect, place: impl Fn(&str) -> Place) {
        let missing: BTreeSet<&str> =
            dialect.prepare.all().filter(|step| !dialect.can(&format!("do.{step}"))).collect();
        for step in missing.into_iter().filter(|step| !self.is_faulty(place(step))).collect::<Vec<_>>() {
            self.fault::<()>(place(step), format!("prepare names \"{step}\", but there is no do.{step}"));
        }
        let needy: BTreeSet<&str> =
            dialect.prepare.all().filter(|step| !dialect.needs(&format!("do.{step}")).is_empty()).collect();
        for step in needy {
            self.fault::<()>(place(step), format!("prepare names \"{step}\", but do.{step} needs a value"));
        }
    }

    /// Whether something is wrong in that line already.
    fn is_faulty(&self, place: Place) -> bool {
        place.is_some_and(|(line, _)| self.errors.iter().any(|fault| fault.line == line))
    }

    fn refusals(&mut self, place: Place, family: Family, refused: &[Template]) {
        for form in refused {
            if !form.literal().is_some_and(|bytes| family.allows_refusal(&bytes)) {
                let what = "\" is no refusal: it has no fields, and does not begin as an answer does";
                self.fault::<()>(place, format!("\"{form}{what}"));
            }
        }
    }

    fn keys(&mut self, node: Node) -> Option<Keys> {
        match node.item {
            Item::Table(keys) => Some(keys),
            _ => self.fault(node.place, "a table is needed here"),
        }
    }

    fn leftovers(&mut self, inside: &str, keys: Keys) {
        for (key, node) in keys {
            self.fault::<()>(node.place, format!("unknown key \"{inside}{key}\""));
        }
    }

    fn family(&mut self, node: Option<Node>) -> Option<Family> {
        let known = || Family::ALL.map(Family::name).join(", ");
        let Some(node) = node else {
            return self.fault(None, format!("`base` or `family` is missing; families: {}", known()));
        };
        let family = match &node.item {
            Item::Text(name) => Family::ALL.into_iter().find(|family| family.name() == name),
            _ => None,
        };
        family.or_else(|| self.fault(node.place, format!("no such family; one of {}", known())))
    }

    fn line(&mut self, node: Option<Node>) -> Option<LineSettings> {
        let Some(node) = node else {
            return self.fault(None, "`line` is missing: { baud, bits, answer_ms }");
        };
        let mut keys = self.keys(node)?;
        let baud = self.whole(keys.remove("baud"), 300..=921_600).and_then(|baud| u32::try_from(baud).ok());
        let answer = self.whole(keys.remove("answer_ms"), 20..=5000).unwrap_or(200);
        let stop_bits = match keys.remove("bits").map(|node| (node.place, node.item)) {
            None => 1,
            Some((_, Item::Text(bits))) if bits == "8N1" => 1,
            Some((_, Item::Text(bits))) if bits == "8N2" => 2,
            Some((place, _)) => self.fault(place, "bits is \"8N1\" or \"8N2\"").unwrap_or(1),
        };
        self.leftovers("line.", keys);
        let answer = Duration::from_millis(answer.unsigned_abs());
        Some(LineSettings { baud: baud.unwrap_or(9600), stop_bits, answer })
    }

    /// `None` also for a fault, which is reported.
    fn whole(&mut self, node: Option<Node>, range: std::ops::RangeInclusive<i64>) -> Option<i64> {
        match node? {
            Node { item: Item::Integer(number), .. } if range.contains(&number) => Some(number),
            node => {
                let (from, to) = range.into_inner();
                self.fault(node.place, format!("a whole number from {from} to {to} is needed"))
            }
        }
    }

    fn degrees(&mut self, node: Option<Node>) -> f64 {
        match node.map(|node| (node.place, node.item)) {
            None => 1.0,
            Some((_, Item::Float(degrees))) if degrees > 0.0 && degrees <= 10.0 => degrees,
            Some((_, Item::Integer(degrees))) if (1..=10).contains(&degrees) => degrees as f64,
            Some((place, _)) => self.fault(place, "degrees, above 0 and up to 10, are needed").unwrap_or(1.0),
        }
    }

    fn flag(&mut self, node: Option<Node>) -> bool {
        match node.map(|node| (node.place, node.item)) {
            None => false,
            Some((_, Item::Flag(flag))) => flag,
            Some((place, _)) => self.fault(place, "true or false is needed").unwrap_or(false),
        }
    }

    /// One text or a list of texts.
    fn texts(&mut self, node: Option<Node>) -> Vec<(Place, String)> {
        match node.map(|node| (node.place, node.item)) {
            None => Vec::new(),
            Some((place, Item::Text(text))) => vec![(place, text)],
            Some((place, Item::List(nodes))) if nodes.len() > MOST => {
                self.fault(place, format!("a list has at most {MOST} texts")).unwrap_or_default()
            }
            Some((_, Item::List(nodes))) => nodes.into_iter().filter_map(|node| self.text(node)).collect(),
            Some((place, _)) => self.fault(place, "a text or a list of texts is needed").unwrap_or_default(),
        }
    }

    fn text(&mut self, node: Node) -> Option<(Place, String)> {
        match node.item {
            Item::Text(text) => Some((node.place, text)),
            _ => self.fault(node.place, "a text is needed here"),
        }
    }

    fn templates(&mut self, node: Option<Node>, style: Style, tables: &Tables) -> Vec<Template> {
        let texts = self.texts(node);
        let parsed = texts.into_iter().filter_map(|(place, text)| {
            let template = Template::parse(&text, style, tables);
            template.map_err(|why| self.fault::<()>(place, format!("\"{text}\": {why}"))).ok()
        });
        parsed.collect()
    }

    fn tables(&mut self, node: Option<Node>, style: Style) -> Tables {
        let mut keys = node.and_then(|node| self.keys(node)).unwrap_or_default();
        let mode = keys.remove("mode").and_then(|node| self.table(Kind::Mode, node, style));
        let tone = keys.remove("tone").and_then(|node| self.table(Kind::Tone, node, style));
        self.leftovers("table.", keys);
        Tables { mode, tone }
    }

    fn table(&mut self, kind: Kind, node: Node, style: Style) -> Option<Table> {
        let code = |text: &str| match style {
            Style::Text => printable(text).map(<[u8]>::to_vec),
            Style::Hex => hex(text),
        };
        let listed = match (&node.item, kind) {
            (Item::Text(range), Kind::Tone) => numbered_tones(range),
            _ => None,
        };
        if let Some(tones) = listed {
            return Some(Table::new(
                node.place,
                tones.into_iter().map(|(tone, text)| (tone, text.into_bytes())).collect(),
            ));
        }
        if matches!(node.item, Item::Text(_)) {
            return self.fault(
                node.place,
                "a table, or for tones the numbers of a list: \"01-38\", \"00-41\", \"000-049\"",
            );
        }
        let (place, mut entries) = (node.place, Vec::new());
        for (key, node) in self.keys(node)? {
            let place = node.place;
            match key_value(kind, &key) {
                Err(why) => drop(self.fault::<()>(place, why)),
                Ok(value) => {
                    for (place, text) in self.texts(Some(node)) {
                        match code(&text) {
                            Ok(bytes) if !bytes.is_empty() => entries.push((value, bytes)),
                            Ok(_) => drop(self.fault::<()>(place, "an empty code")),
                            Err(why) => drop(self.fault::<()>(place, why)),
                        }
                    }
                }
            }
        }
        if entries.is_empty() {
            return self.fault(place, "a table needs codes");
        }
        Some(Table::new(place, entries))
    }

    fn preparation(&mut self, node: Option<Node>) -> (Preparation, Places) {
        let mut keys = node.and_then(|node| self.keys(node)).unwrap_or_default();
        let mut places = Places::new();
        let mut steps = |reader: &mut Self, key| -> Vec<String> {
            let steps = reader.texts(keys.remove(key));
            let named = steps.into_iter().map(|(place, step)| {
                let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
                if step.is_empty() || !step.chars().all(is_plain) {
                    reader.fault::<()>(place, "the name of a step has small letters, digits and _");
                }
                let first = places.entry(step.clone()).or_default();
                *first = first.or(place);
                step
            });
            named.collect()
        };
        let [single, split, duplex] = ["single", "split", "duplex"].map(|key| steps(self, key));
        self.leftovers("prepare.", keys);
        (Preparation { single, split, duplex }, places)
    }

    /// An exchange: one frame, a list of frames, or a table of send, answer and finally; `false`
    /// takes an inherited one away.
    fn verb(&mut self, verb: &str, node: Node, family: Family, tables: &Tables) -> Option<Verb> {
        let (place, style, faults) = (node.place, family.style(), self.errors.len());
        let mut keys = match node.item {
            Item::Flag(false) => return None,
            Item::Table(keys) => keys,
            item => Keys::from([("send".to_owned(), Node { place, item })]),
        };
        let send = self.templates(keys.remove("send"), style, tables);
        let finally = self.templates(keys.remove("finally"), style, tables);
        let answer = self.templates(keys.remove("answer"), style, tables);
        self.leftovers(&format!("{verb}."), keys);
        if self.errors.len() > faults {
            return None;
        }
        if send.is_empty() {
            return self.fault(place, format!("{verb} sends nothing"));
        }
        if send.len() + finally.len() > MOST {
            return self.fault(place, format!("{verb}: at most {MOST} frames, those of `finally` included"));
        }
        if let Some(template) = send.iter().chain(&finally).find(|template| !template.is_writable()) {
            return self.fault(place, format!("{verb}: \"{template}\" can be read but not written"));
        }
        if verb.starts_with("ask.") && answer.is_empty() {
            return self.fault(place, format!("{verb} has no answer"));
        }
        if let Some(field) = unread(verb, &answer) {
            return self.fault(place, format!("{verb}: no form of the answer reads {field}"));
        }
        let lengths: Vec<Option<usize>> = answer.iter().map(Template::length).collect();
        let one_length = lengths.iter().all(|length| length.is_some() && *length == lengths[0]);
        if family.counts_bytes() && !one_length {
            return self.fault(
                place,
                format!("{verb}: in this family every form of an answer has the same number of bytes"),
            );
        }
        Some(Verb { place, send, finally, answer: Arc::from(answer) })
    }
}
