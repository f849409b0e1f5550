"""What is printed: the frame of a document, drawings, typefaces, issuing with number and digest,
mailing.

Decides how paper looks and what makes it an issued document.
"""
