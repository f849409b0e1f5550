"""The outbox: with what it tells of or not at all, one sender, longer pauses, nothing twice."""

import smtplib
import uuid
from datetime import timedelta

import pytest
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from shop.outbox.models import CLAIMED_FOR, OutgoingMail
from shop.outbox.sending import PAUSES, send_due
from shop.outbox.services import post
from tests.post import posted
from tests.together import together

SEND = "django.core.mail.EmailMessage.send"
LETTER = {"to": "owner@shop.example", "subject": "Hello", "body": "the link"}


@pytest.fixture
def failing(monkeypatch):
    """Lets every try fail with the error given."""

    def fail_with(error):
        def fail(self):
            raise error

        monkeypatch.setattr(SEND, fail)

    return fail_with


@pytest.fixture
def letter(db):
    return post(**LETTER)


def test_a_mail_is_kept_or_lost_with_what_it_tells_of(db):
    with transaction.atomic():
        post(**LETTER)
        transaction.set_rollback(True)
    assert posted() == []


def test_of_one_key_there_is_one_mail(db):
    key = uuid.uuid4()
    assert post(key=key, **LETTER) == post(key=key, **LETTER)
    assert len(posted()) == 1


def test_sent_is_sent_once_and_says_so(letter):
    assert len(posted()) == len(posted()) == 1
    letter.refresh_from_db()
    assert letter.sent_at
    assert letter.state == "sent"


def test_the_text_of_a_mail_that_lets_somebody_in_goes_once_it_is_sent(db):
    post(secret=True, **LETTER)
    assert posted()[0].body == "the link"
    assert OutgoingMail.objects.get().body == ""


def test_a_mail_that_fails_is_tried_again_after_longer_and_longer_pauses(letter, failing, clock):
    failing(ConnectionRefusedError("nobody there"))
    for pause in sorted(PAUSES):
        assert send_due().waiting == 1
        assert send_due().waiting == 0
        clock.shift(pause + timedelta(seconds=1))
    assert send_due().given_up == 1
    clock.shift(timedelta(days=30))
    assert send_due().given_up == 0


@pytest.mark.parametrize(
    "error",
    [
        smtplib.SMTPRecipientsRefused({"owner@shop.example": (550, b"no such person")}),
        smtplib.SMTPDataError(554, b"not wanted"),
    ],
)
def test_what_the_server_refuses_for_good_is_not_tried_again(letter, failing, error):
    failing(error)
    with pytest.raises(CommandError, match="1 could not be sent"):
        call_command("send_mail", verbosity=0)


def test_what_the_server_refuses_for_now_is_tried_again(letter, failing):
    failing(smtplib.SMTPRecipientsRefused({"owner@shop.example": (450, b"busy")}))
    assert send_due().waiting == 1


def test_a_sender_that_died_leaves_the_mail_to_the_next_one_under_the_same_name(letter, clock):
    OutgoingMail.objects.update(claimed_until=timezone.now() + CLAIMED_FOR, tries=1)
    assert posted() == []
    clock.shift(CLAIMED_FOR + timedelta(seconds=1))
    (sent,) = posted()
    assert sent.extra_headers["Message-ID"].startswith(f"<{letter.key}@")


@pytest.mark.django_db(transaction=True)
def test_many_senders_at_once_send_each_mail_once():
    for number in range(6):
        post(to=f"{number}@shop.example", subject="Hello", body="once")
    ran = together(*[send_due] * 3)
    assert [one for one in ran if isinstance(one, Exception)] == []
    assert sorted(letter.to[0] for letter in mail.outbox) == [
        f"{number}@shop.example" for number in range(6)
    ]


def test_a_document_that_was_exchanged_on_the_disk_is_not_mailed(db, failing):
    from django.core.files.base import ContentFile
    from django.core.files.storage import default_storage

    path = default_storage.save("documents/a.pdf", ContentFile(b"another paper"))
    post(attached=path, attached_as="SR-1.pdf", sha256="0" * 64, **LETTER)
    assert send_due().given_up == 1
    assert "not the one that was issued" in OutgoingMail.objects.get().trouble


class TestThePage:
    @pytest.fixture
    def refused(self, owner, failing, db, monkeypatch):
        """A mail of the owner's that could not be sent; the server is well again."""
        made = post(made_by=owner, **LETTER)
        with monkeypatch.context() as patch:
            patch.setattr(SEND, lambda self: (_ for _ in ()).throw(OSError("no route")))
            send_due()
        return made

    def test_it_shows_what_could_not_be_sent_and_sends_it_again(self, client, owner, refused):
        client.force_login(owner)
        page = reverse("shop:outgoing_mail")
        assert "tried again soon: OSError: no route" in client.get(page).content.decode()
        client.post(reverse("shop:try_mail_again", args=[refused.pk]))
        assert len(posted()) == 1
        assert "All of it went out." in client.get(page).content.decode()

    def test_nobody_sees_or_sends_another_s(self, client, operator, refused):
        client.force_login(operator)
        page = client.get(reverse("shop:outgoing_mail")).content.decode()
        assert LETTER["to"] not in page
        again = client.post(reverse("shop:try_mail_again", args=[refused.pk]))
        assert again.status_code == 404

    def test_whoever_keeps_the_site_sees_all(self, client, stranger, refused):
        stranger.is_staff = True
        stranger.save()
        client.force_login(stranger)
        assert LETTER["to"] in client.get(reverse("shop:outgoing_mail")).content.decode()

    def test_it_asks_as_much_whatever_waits(self, client, owner, django_assert_num_queries):
        client.force_login(owner)
        client.get(reverse("shop:outgoing_mail"))
        for count in (1, 5):
            for _ in range(count):
                post(made_by=owner, **LETTER)
            with django_assert_num_queries(4):
                client.get(reverse("shop:outgoing_mail"))
