"""Statements and credit notes as PDF, made from their frozen lines alone."""

from shop.paper.documents import (
    Bookmark,
    Carried,
    Column,
    DocumentMeta,
    Letterhead,
    Section,
    build_document,
    check_block,
    data_table,
    heading,
    paragraph,
)
from shop.paper.letters import logo_of
from shop.web.amounts import money_text, number_text, price_text
from shop.web.wording import dates_written, day_text

COLUMNS = [
    Column("", 0.42, "right"),
    Column("What", 3.2),
    Column("Quantity", 1.0, "right"),
    Column("Price", 1.1, "right"),
    Column("Tax", 0.7, "right"),
    Column("Net", 1.2, "right"),
]


def build_statement(statement, lines, taxes, check=None):
    """A statement or credit note as PDF bytes; a draft while it has no number."""
    with dates_written(statement.firm.date_form):
        return _built(statement, lines, taxes, check)


def _built(statement, lines, taxes, check):
    sums = _sums(statement, taxes)
    sections = [
        Section("", [Bookmark("Lines"), _lines(statement, lines, sums)]),
        Section("", [Bookmark("Total"), sums]),
        Section("", _afterwards(statement)),
    ]
    if check:
        sections.append(Section("", [check_block(check.address, check.code, check.chain)]))
    return build_document(_meta(statement), sections)


def _lines(statement, lines, sums):
    carried = Carried(
        [line.net for line in lines],
        lambda amount: money_text(amount, statement.currency),
        followed_by=sums,
    )
    return data_table(COLUMNS, [_row(statement, line) for line in lines], carried=carried)


def _row(statement, line):
    what = f"{line.text}\nPart {line.number}" if line.number else line.text
    if line.takes_back and not statement.closes:
        what = f"{what}\nOf line {line.takes_back.position} of the statement"
    return [
        str(line.position),
        what,
        f"{number_text(line.quantity)} {line.unit}",
        price_text(line.price, statement.currency),
        f"{number_text(line.tax_percent)} %",
        money_text(line.net, statement.currency),
    ]


def _sums(statement, taxes):
    """Sum, discounts, each category's tax, and the total."""
    currency = statement.currency
    rows = [("Sum of the lines", statement.lines_total)]
    if statement.discounts_total:
        rows += [("Discounts", -statement.discounts_total), ("Net", statement.net)]
    rows += [(_tax_words(tax, currency), tax.amount) for tax in taxes]
    rows.append((_total_words(statement), statement.gross))
    columns = [Column("", 3.6), Column("", 1.2, "right")]
    shown = [[words, money_text(amount, currency)] for words, amount in rows]
    return data_table(columns, shown, totals=1)


def _tax_words(tax, currency):
    percent = f"{number_text(tax.percent)} %"
    name = tax.name if percent in tax.name else f"{tax.name}, {percent}"
    words = f"{name} on {money_text(tax.base, currency)}"
    return f"{words}. {tax.reason}" if tax.reason else words


def _total_words(statement):
    if statement.is_credit_note:
        return f"Total credited in {statement.currency}"
    return f"Total in {statement.currency}, due by {day_text(statement.due_on)}"


def _afterwards(statement):
    """Why it was credited, or how to pay."""
    if statement.is_credit_note:
        return [heading("Why", 2), paragraph(statement.reason)]
    pay, text = statement.payment_note, statement.firm.statement_text
    return [
        *([heading("How to pay", 2), paragraph(pay)] if pay else []),
        *([paragraph(text)] if text else []),
    ]


def _taken_back(statement):
    if not statement.credits:
        return ""
    words = f"statement {statement.credits.number}"
    return words if statement.closes else f"part of {words}"


def _meta(statement):
    about = [
        ("Credits", _taken_back(statement)),
        ("To", f"{statement.buyer_name}\n{statement.buyer_address}"),
        ("For", statement.about),
        ("Our tax number", statement.seller_tax_number),
        ("Due by", day_text(statement.due_on) if statement.due_on else ""),
    ]
    draft = not statement.number
    return DocumentMeta(
        firm=Letterhead(
            name=statement.seller_name,
            address=tuple(statement.seller_address.splitlines()),
            contact=tuple(statement.seller_contact.splitlines()),
            logo=logo_of(statement.firm),
        ),
        title=str(statement.get_kind_display()).capitalize(),
        number=statement.number or "no number yet",
        date=day_text(statement.issued_on),
        about=[(label, text) for label, text in about if text],
        subject=f"{statement.about}, {statement.buyer_name}",
        draft=draft,
        draft_words="DRAFT, not issued",
        paper=statement.firm.paper_size,
        stamped_at=statement.made_at,
    )
