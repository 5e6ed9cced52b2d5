"""The web app: pages and forms over the desk, for phone, tablet and desk.

`app.create_app` puts it together; every page is a module of `pages` with its promised record, the function that fills
it and its routes. No SQL, no formula and no rounding in here, and none in a template.
"""
