"""A value that can't be used, told as what it is of and what is wrong with it."""


class Refused(ValueError):
    """An argument out of range: which one, and the rule it breaks.

    >>> fault = Refused("mass", "18 to 180 kg, got 4")
    >>> fault.field, fault.rule, str(fault)
    ('mass', '18 to 180 kg, got 4', 'mass: 18 to 180 kg, got 4')
    """

    def __init__(self, field: str, rule: str) -> None:
        super().__init__(f"{field}: {rule}")
        self.field, self.rule = field, rule
