"""What a service says when it will not do something."""


class Refused(Exception):
    """A change that the rules of the job do not allow; the message is for the person."""
