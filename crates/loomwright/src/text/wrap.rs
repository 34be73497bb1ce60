//! Breaking sentences into lines.

/// Widest line. Own choice: fits a terminal on half a laptop screen.
const WIDTH: usize = 100;

/// `text` in lines, the first after `first`, the others indented to the same column. Line breaks in `text` stay.
pub fn wrapped(first: &str, text: &str) -> String {
    let indent = " ".repeat(first.chars().count());
    let mut out = String::new();
    for (n, paragraph) in text.split('\n').enumerate() {
        let mut line = if n == 0 { first.to_owned() } else { indent.clone() };
        let mut is_empty = true;
        for word in paragraph.split_whitespace() {
            if !is_empty && line.chars().count() + 1 + word.chars().count() > WIDTH {
                out.push_str(line.trim_end());
                out.push('\n');
                line.clone_from(&indent);
                is_empty = true;
            }
            if !is_empty {
                line.push(' ');
            }
            line.push_str(word);
            is_empty = false;
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_the_margin_and_every_word() {
        let text = "word ".repeat(40);
        let out = wrapped("  do: ", &text);
        assert!(out.lines().all(|line| line.chars().count() <= WIDTH && line.starts_with("  ")));
        assert_eq!(out.matches("word").count(), 40);
        assert_eq!(wrapped("  ", "a\nb"), "  a\n  b\n");
    }
}
