"""Quotes as PDF: one heading for each thing the owner may accept, its lines, and the total."""

from shop.paper.documents import (
    Column,
    DocumentMeta,
    Section,
    build_document,
    check_block,
    data_table,
    heading,
    paragraph,
)
from shop.paper.letters import letterhead
from shop.web.amounts import money_text, number_text, price_text
from shop.web.wording import dates_written, day_text

COLUMNS = [
    Column("What", 3.4),
    Column("Quantity", 1.0, "right"),
    Column("Price", 1.1, "right"),
    Column("Tax", 0.7, "right"),
    Column("Net", 1.2, "right"),
]


def build_quote(quote, items, taxed, check=None):
    """A quote as PDF bytes. items: (item, its lines) pairs; taxed: what each category comes to."""
    with dates_written(quote.firm.date_form):
        return _built(quote, items, taxed, check)


def _built(quote, items, taxed, check):
    sections = [Section("", _item(quote, item, lines)) for item, lines in items]
    sections.append(Section("", _sums(quote, taxed)))
    if quote.note:
        sections.append(Section("", [heading("Note", 2), paragraph(quote.note)]))
    if quote.firm.quote_text:
        sections.append(Section("", [paragraph(quote.firm.quote_text)]))
    if check:
        sections.append(Section("", [check_block(check.address, check.code, check.chain)]))
    return build_document(_meta(quote), sections)


def _item(quote, item, lines):
    rows = [
        [
            f"{line.text}\nPart {line.number}" if line.number else line.text,
            f"{number_text(line.quantity)} {line.unit}",
            price_text(line.price, quote.currency),
            f"{number_text(line.tax_percent)} %",
            money_text(line.net, quote.currency),
        ]
        for line in lines
    ]
    total = [["Together, without tax", "", "", "", money_text(item.net, quote.currency)]]
    return [
        heading(f"{item.position}. {item.what}"),
        *([paragraph(item.reason)] if item.reason else []),
        data_table(COLUMNS, rows + total, totals=1),
    ]


def _sums(quote, taxed):
    rows = [["Net", money_text(quote.net, quote.currency)]]
    rows += [
        [
            f"Tax {number_text(one.tax.percent)} % on {money_text(one.base, quote.currency)}",
            money_text(one.amount, quote.currency),
        ]
        for one in taxed
    ]
    rows.append([f"Total in {quote.currency}", money_text(quote.gross, quote.currency)])
    valid = f"Valid until {day_text(quote.valid_until)}. Each item may be accepted by itself."
    return [
        heading("All items together"),
        data_table([Column("", 3.6), Column("", 1.2, "right")], rows, totals=1),
        paragraph(valid),
    ]


def _meta(quote):
    return DocumentMeta(
        firm=letterhead(quote.firm),
        title="Quote",
        number=quote.number,
        date=day_text(quote.issued_on),
        about=[
            ("To", f"{quote.shop.name}\n{quote.shop.address}"),
            ("Valid until", day_text(quote.valid_until)),
            ("From", quote.made_by.name),
        ],
        paper=quote.firm.paper_size,
        subject=f"Quote {quote.number} to {quote.shop.name}",
        stamped_at=quote.made_at,
    )
