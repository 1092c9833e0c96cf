"""The one exception of the services: something is refused, with a code for machines and a sentence for people."""


class Refused(Exception):
    """A service will not do it. Nothing was written; `details` holds what a page may want to show (plain values)."""

    def __init__(self, code: str, sentence: str, **details):
        super().__init__(sentence)
        self.code = code
        self.sentence = sentence
        self.details = details
