"""The JSON face, /api/v1: the same functions of the desk, the same rules and the same words as the pages.

Numbers carry their unit in their name, the same whatever a person chose to see. `face` puts the rooms together and
describes them (OpenAPI); `shapes` says what goes in and comes out.
"""
