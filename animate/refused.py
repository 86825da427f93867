"""A value that can't be used, told as what it is of and what is wrong with it."""


class Refused(ValueError):
    """An argument out of range: which one, the rule it breaks, and what was given where that is told.

    >>> fault = Refused("mass", "18 to 180 kg", 4)
    >>> fault.field, fault.rule, fault.given, str(fault)
    ('mass', '18 to 180 kg', 4, 'mass: 18 to 180 kg, got 4')
    """

    def __init__(self, field: str, rule: str, given: object = None) -> None:
        super().__init__(field, rule, given)  # what a copy in another process is made from
        self.field, self.rule, self.given = field, rule, given

    @property
    def told(self) -> str:
        """The rule and what was given, without the field."""
        return self.rule if self.given is None else f"{self.rule}, got {self.given}"

    def __str__(self) -> str:
        return f"{self.field}: {self.told}"
