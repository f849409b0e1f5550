"""System checks: the site does not start with a table that says nothing for itself."""

from django.core.checks import Error, Tags, register
from django.core.exceptions import FieldDoesNotExist
from django.utils.module_loading import import_string

from shop.record import Goes, Record, Stays, our_models, rules_of


@register(Tags.models)
def every_table_is_declared(app_configs, **_given):
    """Each model of the site's apps has a `Record` of its own, and what that names is there."""
    chosen = None if app_configs is None else {config.label for config in app_configs}
    models = [one for one in our_models() if not one._meta.auto_created]
    undeclared = [one for one in models if not isinstance(vars(one).get("record_rules"), Record)]
    errors = [_undeclared(model) for model in undeclared]
    if not undeclared:
        errors = [_error(model, said) for model in models for said in wrong_in(model)]
    return [one for one in errors if chosen is None or one.obj._meta.app_label in chosen]


def _undeclared(model):
    return Error(
        f"{model.__name__} says nothing of archive, trail and freezing.",
        hint="Give the model record_rules = Record(...) from shop.record.",
        obj=model,
        id="shop.E001",
    )


def _error(model, said):
    return Error(f"record_rules of {model.__name__}: {said}", obj=model, id="shop.E002")


def wrong_in(model):
    """Yield what a model's `Record` says that cannot be, each as a clause."""
    from shop.audit.archive_rules import ways_to
    from shop.people.models import Shop

    said = rules_of(model)
    yield from _missing_columns(model, said)
    if isinstance(said.archive, Goes) and not said.archive.way and not ways_to(Shop, model):
        yield "it goes with its shop, but no foreign key leads there; see belongs_to."
    if any(isinstance(one, Stays) and not one.why for one in (said.archive, said.handover)):
        yield "it stays, but why is not said."
    if model._meta.many_to_many and not said.links:
        yield "links does not say why its many-to-many fields stay."
    if said.signed and "visit" not in {field.name for field in model._meta.fields}:
        yield "it is signed, but has no visit."
    if said.seen_by and not _is_there(said.seen_by):
        yield f"there is no {said.seen_by}."


def _missing_columns(model, said):
    columns = {field.column for field in model._meta.concrete_fields}
    for column in (*said.left_out, *(said.frozen.columns if said.frozen else ())):
        if column not in columns:
            yield f"there is no column {column}."
    for name in (*said.belongs_to, *said.part_of):
        try:
            model._meta.get_field(name)
        except FieldDoesNotExist:
            yield f"there is no field {name}."


def _is_there(path):
    try:
        import_string(path)
    except ImportError:
        return False
    return True
