"""What of a shop's machines people may open at its shared devices."""


def has_label(shop, code):
    """Whether a label is of one of the shop's machines."""
    return shop.machines.filter(code=code.lower()).exists()


def has_machine(shop, pk):
    return shop.machines.filter(pk=pk).exists()


def has_belt(shop, pk):
    return shop.machines.filter(belts=pk).exists()


def has_belt_inspection(shop, pk):
    return shop.machines.filter(belts__inspections=pk).exists()
