"""The pages: each module holds its promised record, the function that fills it, and its routes."""
