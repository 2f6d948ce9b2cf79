"""The rota on paper, in a spreadsheet, in a calendar and as a picture.

`gather` asks the database, `page` fills the HTML template; everything else is values in, text or
bytes out.
"""
