//! Tokens to the tree of an expression, by recursive descent.

use std::ops::Range;

use super::ast::{Argument, Arithmetic, Ast, AstKind, Comparison};
use super::lexer::{ExpressionFault, Token, TokenKind, tokenize};
use super::slips;

/// Expressions nested deeper than this are refused, so that no walk can exhaust the stack.
const DEEPEST: usize = 60;
/// More sums and products in one expression are refused: `a + b + c` is a tree as deep as it is long, and
/// brackets do not show it.
const MOST_OPERATIONS: usize = 200;

/// The tree of an expression.
pub fn parse(text: &str) -> Result<Ast, ExpressionFault> {
    let mut parser = Parser { tokens: tokenize(text)?, at: 0, depth: 0, operations: 0 };
    let tree = parser.expression()?;
    match parser.peek().kind {
        TokenKind::End => Ok(tree),
        _ => {
            let before = parser.at.checked_sub(1).map(|at| &parser.tokens[at].kind);
            let after = parser.tokens.get(parser.at + 1).map(|token| &token.kind);
            let help = slips::instead_of_operator(&parser.peek().kind, before, after);
            Err(parser.unexpected("an operator or the end").help(help))
        }
    }
}

struct Parser {
    tokens: Vec<Token>,
    at: usize,
    depth: usize,
    /// Sums and products so far.
    operations: usize,
}

type Parsed = Result<Ast, ExpressionFault>;

impl Parser {
    fn peek(&self) -> &Token {
        &self.tokens[self.at]
    }

    fn advance(&mut self) -> Token {
        let token = self.tokens[self.at].clone();
        self.at = (self.at + 1).min(self.tokens.len() - 1);
        token
    }

    fn takes_word(&mut self, word: &str) -> bool {
        let found = matches!(&self.peek().kind, TokenKind::Word(own) if own == word);
        if found {
            self.advance();
        }
        found
    }

    fn takes_sign(&mut self, sign: &str) -> bool {
        let found = matches!(&self.peek().kind, TokenKind::Sign(own) if *own == sign);
        if found {
            self.advance();
        }
        found
    }

    fn unexpected(&self, wanted: &str) -> ExpressionFault {
        let token = self.peek();
        let message = match &token.kind {
            TokenKind::End => format!("the expression ends where {wanted} is wanted"),
            TokenKind::Word(word) => format!("`{word}` stands where {wanted} is wanted"),
            TokenKind::Sign(sign) => format!("`{sign}` stands where {wanted} is wanted"),
            TokenKind::Number(number, _) => format!("`{number}` stands where {wanted} is wanted"),
            TokenKind::Text(text) => format!("'{text}' stands where {wanted} is wanted"),
        };
        ExpressionFault::new("expression-syntax", token.span.clone(), message)
    }

    fn expect_sign(&mut self, sign: &'static str) -> Result<Range<usize>, ExpressionFault> {
        let span = self.peek().span.clone();
        if self.takes_sign(sign) { Ok(span) } else { Err(self.unexpected(&format!("`{sign}`"))) }
    }

    fn expression(&mut self) -> Parsed {
        self.depth += 1;
        if self.depth > DEEPEST {
            let span = self.peek().span.clone();
            return Err(ExpressionFault::new("expression-syntax", span, "the expression is nested too deep"));
        }
        let start = self.peek().span.start;
        let tree = if self.takes_word("if") {
            let condition = self.expression()?;
            if !self.takes_word("then") {
                return Err(self.unexpected("`then`"));
            }
            let yes = self.expression()?;
            if !self.takes_word("else") {
                return Err(self.unexpected("`else`"));
            }
            let no = self.expression()?;
            Ast { span: start..no.span.end, kind: AstKind::If(Box::new([condition, yes, no])) }
        } else {
            self.any()?
        };
        self.depth -= 1;
        Ok(tree)
    }

    fn any(&mut self) -> Parsed {
        self.chain("or", Self::all, AstKind::Any)
    }

    fn all(&mut self) -> Parsed {
        self.chain("and", Self::not, AstKind::All)
    }

    fn chain(&mut self, word: &str, part: fn(&mut Self) -> Parsed, build: fn(Vec<Ast>) -> AstKind) -> Parsed {
        let first = part(self)?;
        let mut parts = vec![first];
        while self.takes_word(word) {
            parts.push(part(self)?);
        }
        if parts.len() == 1 {
            return Ok(parts.remove(0));
        }
        let span = parts[0].span.start..parts[parts.len() - 1].span.end;
        Ok(Ast { span, kind: build(parts) })
    }

    fn not(&mut self) -> Parsed {
        let start = self.peek().span.start;
        if !self.takes_word("not") {
            return self.comparison();
        }
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(self.unexpected("a shorter expression"));
        }
        let child = self.not()?;
        self.depth -= 1;
        Ok(Ast { span: start..child.span.end, kind: AstKind::Not(Box::new(child)) })
    }

    fn comparison(&mut self) -> Parsed {
        let left = self.sum()?;
        let sign = match &self.peek().kind {
            TokenKind::Sign("=") => Comparison::Equal,
            TokenKind::Sign("!=") => Comparison::Unequal,
            TokenKind::Sign("<") => Comparison::Less,
            TokenKind::Sign("<=") => Comparison::AtMost,
            TokenKind::Sign(">") => Comparison::More,
            TokenKind::Sign(">=") => Comparison::AtLeast,
            TokenKind::Word(word) if word == "in" || word == "not" => {
                let negated = self.takes_word("not");
                if !self.takes_word("in") {
                    return Err(self.unexpected("`in`"));
                }
                let right = self.sum()?;
                let span = left.span.start..right.span.end;
                return Ok(Ast { span, kind: AstKind::In(Box::new(left), Box::new(right), negated) });
            }
            _ => return Ok(left),
        };
        self.advance();
        let right = self.sum()?;
        let span = left.span.start..right.span.end;
        Ok(Ast { span, kind: AstKind::Compare(sign, Box::new(left), Box::new(right)) })
    }

    fn sum(&mut self) -> Parsed {
        self.arithmetic(&[("+", Arithmetic::Add), ("-", Arithmetic::Subtract)], Self::product)
    }

    fn product(&mut self) -> Parsed {
        self.arithmetic(&[("*", Arithmetic::Multiply), ("/", Arithmetic::Divide)], Self::negation)
    }

    fn arithmetic(&mut self, signs: &[(&str, Arithmetic)], part: fn(&mut Self) -> Parsed) -> Parsed {
        let mut left = part(self)?;
        'more: loop {
            for (sign, operation) in signs {
                if self.takes_sign(sign) {
                    self.count_operation()?;
                    let right = part(self)?;
                    let span = left.span.start..right.span.end;
                    let kind = AstKind::Arithmetic(*operation, Box::new(left), Box::new(right));
                    left = Ast { span, kind };
                    continue 'more;
                }
            }
            return Ok(left);
        }
    }

    fn count_operation(&mut self) -> Result<(), ExpressionFault> {
        self.operations += 1;
        if self.operations <= MOST_OPERATIONS {
            return Ok(());
        }
        let span = self.peek().span.clone();
        let message = format!("the expression has more than {MOST_OPERATIONS} sums and products");
        let help = "derive a part of it as a fact of its own";
        Err(ExpressionFault::new("expression-syntax", span, message).help(help))
    }

    fn negation(&mut self) -> Parsed {
        let start = self.peek().span.start;
        if !self.takes_sign("-") {
            return self.primary();
        }
        let child = self.primary()?;
        Ok(Ast { span: start..child.span.end, kind: AstKind::Negate(Box::new(child)) })
    }

    fn primary(&mut self) -> Parsed {
        let token = self.peek().clone();
        let start = token.span.start;
        let kind = match token.kind {
            TokenKind::Number(number, unit) => {
                self.advance();
                AstKind::Number(number, unit)
            }
            TokenKind::Text(text) => {
                self.advance();
                AstKind::Text(text)
            }
            TokenKind::Word(word) if !matches!(word.as_str(), "and" | "or" | "in" | "then" | "else") => {
                self.advance();
                if self.takes_sign("(") {
                    let (arguments, end) = self.arguments()?;
                    return Ok(Ast { span: start..end, kind: AstKind::Call(word, arguments) });
                }
                AstKind::Word(word)
            }
            TokenKind::Sign("(") => {
                self.advance();
                let inner = self.expression()?;
                self.expect_sign(")")?;
                return Ok(inner);
            }
            TokenKind::Sign("[") => {
                self.advance();
                let mut items = Vec::new();
                while !matches!(self.peek().kind, TokenKind::Sign("]")) {
                    items.push(self.expression()?);
                    if !self.takes_sign(",") {
                        break;
                    }
                }
                let end = self.expect_sign("]")?.end;
                return Ok(Ast { span: start..end, kind: AstKind::List(items) });
            }
            _ => return Err(self.unexpected("a value")),
        };
        Ok(Ast { span: token.span, kind })
    }

    fn arguments(&mut self) -> Result<(Vec<Argument>, usize), ExpressionFault> {
        let mut arguments = Vec::new();
        while !matches!(self.peek().kind, TokenKind::Sign(")")) {
            let next_is_equals =
                self.tokens.get(self.at + 1).is_some_and(|token| token.kind == TokenKind::Sign("="));
            let key = match &self.peek().kind {
                TokenKind::Word(word) if next_is_equals && !word.contains('.') => {
                    let key = (word.clone(), self.peek().span.clone());
                    self.advance();
                    self.advance();
                    Some(key)
                }
                _ => None,
            };
            arguments.push((key, self.expression()?));
            if !self.takes_sign(",") {
                break;
            }
        }
        let end = self.expect_sign(")")?.end;
        Ok((arguments, end))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Canonical text parses back to itself, and says the grouping plainly.
    #[test]
    fn canonical_text_is_a_fixed_point() {
        for (written, canonical) in [
            ("a.x<3 and not (b.y or c.z)", "a.x < 3 and not (b.y or c.z)"),
            ("site.a - (site.b - site.c)", "site.a - (site.b - site.c)"),
            ("(site.a - site.b) - site.c", "site.a - site.b - site.c"),
            ("grade( x , none=1,severe = 2 mm )", "grade(x, none = 1, severe = 2 mm)"),
            ("if a then 1 else if b then 2 else 3", "if a then 1 else if b then 2 else 3"),
            ("\"seed\" not in species.methods", "'seed' not in species.methods"),
            ("-site.a * 2", "-site.a * 2"),
        ] {
            let text = parse(written).unwrap().to_string();
            assert_eq!(text, canonical);
            assert_eq!(parse(&text).unwrap().to_string(), canonical);
        }
    }

    #[test]
    fn faults_point_at_the_character() {
        for (text, wanted) in [("site.ph >", ""), ("(site.ph", ""), ("site.ph < < 3", "<"), ("a b", "b")] {
            let fault = parse(text).unwrap_err();
            assert_eq!(&text[fault.span], wanted, "{}", fault.message);
        }
    }

    #[test]
    fn deep_nesting_is_refused_not_overflowed() {
        for (open, close) in [("(", ")"), ("not ", ""), ("if a then ", ""), ("[", "]")] {
            let text = format!("{}a{}", open.repeat(50_000), close.repeat(50_000));
            assert!(parse(&text).is_err());
        }
    }

    #[test]
    fn a_long_sum_is_refused_not_overflowed() {
        for sign in ["+", "-", "*", "/"] {
            let text = |count: usize| format!("a{}", format!(" {sign} 1").repeat(count));
            assert!(parse(&text(MOST_OPERATIONS)).is_ok());
            let fault = parse(&text(50_000)).unwrap_err();
            assert!(fault.message.ends_with("200 sums and products"), "{}", fault.message);
        }
    }
}
