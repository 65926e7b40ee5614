//! Every kind of change on files laid out in every way that people lay them out.

use super::*;
use crate::units::Unit;

fn row(value: &str, source: &str, at: &str, note: &str) -> Row {
    Row { cells: [value, "", "", source, at, note].map(str::to_owned) }
}

fn edited(text: &str, kind: Kind, changes: &[EntryChange]) -> String {
    let source = Arc::new(Source { path: "x.toml".into(), text: text.to_owned().into() });
    rewrite(&source, &[TraitEdit { name: "wear", kind, changes }]).unwrap_or_default()
}

fn number() -> Kind {
    Kind::Number(Unit::named("cm").unwrap_or(&Unit::all()[0]))
}

const LINES: &str = "\
# head of the file
id = \"x\"   # the id

[traits]
# why wear is entered like this
wear = [
  { value = 1, source = \"a\", at = \"p\" }, # said of the first
  # said before the second
  {value=2.50,source=\"b\",at=\"q\"},
]   # end of wear
ph = [ { low = 6, source = \"a\", at = \"p\" } ]
# end of the file
";

#[test]
fn a_changed_cell_changes_its_own_characters_alone() {
    let change = |old: Row, new: Row| EntryChange::Changed { at: 1, old, new };
    let text = edited(LINES, number(), &[change(row("2.50", "b", "q", ""), row("3", "b", "q", ""))]);
    assert_eq!(text, LINES.replace("value=2.50", "value=3"));
    let text = edited(LINES, number(), &[change(row("2.50", "b", "q", ""), row("12 in", "b", "q", "x"))]);
    let expected = LINES.replace(
        "{value=2.50,source=\"b\",at=\"q\"}",
        "{value=\"12 in\",source=\"b\",at=\"q\", note = \"x\"}",
    );
    assert_eq!(text, expected);
}

#[test]
fn an_entry_is_added_behind_the_last_and_its_comment() {
    let added = EntryChange::Added { new: row("9", "c", "r", "") };
    let text = edited(LINES, number(), std::slice::from_ref(&added));
    let new = "  { value = 9, source = \"c\", at = \"r\" },\n]   # end";
    assert_eq!(text, LINES.replace("]   # end", new));
    let in_line = "[traits]\nwear = [ { value = 1, source = \"a\", at = \"p\" } ]\n";
    let expected = in_line.replace(" ]", ", { value = 9, source = \"c\", at = \"r\" } ]");
    assert_eq!(edited(in_line, number(), &[added]), expected);
}

#[test]
fn an_entry_goes_and_the_comments_stay() {
    let text = edited(LINES, number(), &[EntryChange::Removed { at: 1, old: Row::default() }]);
    for comment in LINES.lines().filter_map(|line| line.split_once('#')).map(|(_, comment)| comment) {
        assert!(text.contains(comment), "{comment}\n{text}");
    }
    assert!(!text.contains("2.50") && text.parse::<DocumentMut>().is_ok(), "{text}");
    let text = edited(LINES, number(), &[EntryChange::Removed { at: 0, old: Row::default() }]);
    assert!(text.contains("said of the first") && !text.contains("value = 1"), "{text}");
    assert!(text.parse::<DocumentMut>().is_ok(), "{text}");
}

#[test]
fn a_trait_without_entries_goes_with_its_key_and_a_new_one_comes() {
    let gone = [0, 1].map(|at| EntryChange::Removed { at, old: Row::default() });
    let text = edited(LINES, number(), &gone);
    assert!(!text.contains("wear ="), "{text}");
    assert!(text.contains("# why wear is entered like this\nph = "), "{text}");
    let added = ["1", "2"].map(|value| EntryChange::Added { new: row(value, "a", "p", "") });
    let text = edited("id = \"x\"\n", number(), &added[..1]);
    assert_eq!(text, "id = \"x\"\n\n[traits]\nwear = [{ value = 1, source = \"a\", at = \"p\" }]\n");
    let text = edited("[traits]\n", number(), &added);
    let lines = ["1", "2"].map(|value| format!("  {{ value = {value}, source = \"a\", at = \"p\" }},\n"));
    assert_eq!(text, format!("[traits]\nwear = [\n{}]\n", lines.concat()));
}

#[test]
fn tables_with_heads_and_line_ends_of_windows_are_kept() {
    let text = "[[traits.wear]]\r\nvalue = 1 # one\r\nsource = \"a\"\r\nat = \"p\"\r\n";
    let changed = EntryChange::Changed { at: 0, old: row("1", "a", "p", ""), new: row("4", "a", "p", "") };
    assert_eq!(edited(text, number(), &[changed]), text.replace("value = 1", "value = 4"));
    let added = EntryChange::Added { new: row("5", "b", "q", "") };
    let with = edited(text, number(), &[added]);
    assert!(with.starts_with(text) && with.contains("[[traits.wear]]\r\nvalue = 5\r\n"), "{with}");
}

#[test]
fn cells_become_what_their_trait_writes() {
    let cases = [
        (number(), "6.0", "6.0"),
        (number(), ".5", "0.5"),
        (number(), "6 in", "\"6 in\""),
        (Kind::Flag, "TRUE", "true"),
        (Kind::Texts, "a; b", "[\"a\", \"b\"]"),
        (Kind::Texts, "[]", "[]"),
        (Kind::Text, "6", "\"6\""),
    ];
    for (kind, cell, expected) in cases {
        assert_eq!(value_of("value", cell, kind).to_string(), expected);
    }
    assert_eq!(value_of("note", "6", number()).to_string(), "\"6\"");
}
