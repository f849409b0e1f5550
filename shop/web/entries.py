"""Forms that are sent twice make one record: services take the id their form carried."""

import functools

from django.db import IntegrityError, transaction


def entered_once(model):
    """Make a service atomic, and let a form that is sent twice make one `model` record.

    The service takes the form's `entry_id`; sent again, even at the same moment, the record that
    was made is returned instead of a second one.
    """

    def decorate(service):
        @functools.wraps(service)
        def once(*args, entry_id=None, **kwargs):
            if record := _already_entered(model, entry_id):
                return record
            try:
                with transaction.atomic():
                    return service(*args, entry_id=entry_id, **kwargs)
            except IntegrityError:
                # The other one was faster; its id is unique, so only one could be saved.
                if record := _already_entered(model, entry_id):
                    return record
                raise

        return once

    return decorate


def _already_entered(model, entry_id):
    # One that was withdrawn was entered too.
    return model._base_manager.filter(entry_id=entry_id).first() if entry_id else None


def identified(entry_id):
    """Keyword for creating an entry with the id its form carried, if it carried one."""
    return {"entry_id": entry_id} if entry_id else {}
