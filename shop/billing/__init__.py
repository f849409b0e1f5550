"""Money: charges, prices, tax, quotes, invoices and credit notes.

Decides what a line, a tax and a total come to (`money`) and what may be credited.
"""
