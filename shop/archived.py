"""What of this app and of those under it goes into a shop's archive."""

from .archive.rules import Goes, Named, Stays

RULES = {
    # Of a person only what names them and how they read lengths; never a password.
    "shop.User": Named(
        by=(("email",), ("username",)),
        carries=(
            "username",
            "first_name",
            "last_name",
            "email",
            "is_active",
            "date_joined",
            "length_unit",
            "wants_reminders",
        ),
    ),
    # Two firms may bear one name; they are one firm where it is at one address.
    "shop.Firm": Named(by=(("name", "address", "email"),)),
    "shop.Shop": Goes("pk"),
    "shop.Membership": Goes("shop"),
    "shop.TaxCategory": Named(by=(("firm", "name"),)),
    "shop.Rate": Stays("a firm's prices are its own; what was charged stands in the charges"),
    "shop.NumberSeries": Named(
        by=(("firm", "kind", "year"),), way="firm__visits__shop", higher=("last",)
    ),
    "shop.Visit": Goes("shop", held={"state": "on site", "signed_at": None}),
    "shop.Signature": Goes("visit__shop"),
    "shop.SignedRecord": Goes("visit__shop"),
    "shop.Charge": Goes("visit__shop"),
    "shop.WorkSpell": Goes("visit__shop"),
    "shop.Quote": Goes("shop", held={"sealed": False}),
    "shop.QuoteItem": Goes("quote__shop"),
    "shop.QuoteLine": Goes("item__quote__shop"),
    "shop.QuoteAnswer": Goes("item__quote__shop"),
    "shop.Statement": Goes("shop", held={"sealed": False}),
    "shop.StatementLine": Goes("statement__shop"),
    "shop.StatementTax": Goes("statement__shop"),
    "shop.Payment": Goes("statement__shop"),
    "shop.Document": Goes("shop"),
    "shop.Sending": Goes("document__shop"),
    "shop.ToldAnswer": Goes("shop"),
    "shop.ToldReply": Goes("told__shop"),
    "shop.ClosedDays": Goes("shop"),
    "shop.Proposal": Goes("shop"),
    "shop.ProposedDay": Goes("proposal__shop"),
    "shop.ProposalStep": Goes("proposal__shop"),
    "shop.FirmMembership": Stays("who belongs to a firm and looks after it is for the firm to say"),
    "shop.Customer": Stays("what a firm keeps about a shop is for its own eyes"),
    "shop.Invitation": Stays("a way into this site; whoever is to come elsewhere is invited there"),
    "shop.SharedDevice": Stays("a device knows this site by a secret; it is set up anew elsewhere"),
    "shop.Pin": Stays("a secret, though hashed"),
    "shop.PinTries": Stays("how often a secret was typed wrong here"),
    "shop.Tally": Stays("how often something was asked for here of late"),
    "shop.SignIn": Stays("sign-ins to this site"),
    "shop.SentForm": Stays("says only that a form was sent here; what it made goes"),
    "shop.Change": Stays("the trail runs over the whole site; taking in is on the other's trail"),
    "shop.ChainLink": Stays("the chain runs over the whole site and cannot be cut"),
    "shop.ChainHead": Stays("the chain runs over the whole site and cannot be cut"),
    "shop.Stir": Stays("says only that something changed here"),
    "shop.WorkedOut": Stays("what was worked out is worked out anew"),
    "shop.FeedAddress": Stays("the secret address of one person's calendar"),
    "shop.ReminderSent": Stays("what this site mailed to a person, over all their shops"),
    "shop.User_groups": Stays("rights on the admin site are the site's to give"),
    "shop.User_user_permissions": Stays("rights on the admin site are the site's to give"),
    "auth": Stays("rights on the admin site are the site's to give"),
    "admin": Stays("what was done on the admin site of this site"),
    "contenttypes": Stays("the site's own list of its tables; an archive calls them by name"),
    "sessions": Stays("sign-ins to this site"),
    "axes": Stays("who tried to sign in to this site, and from where"),
    "otp_static": Stays("secrets of a person's second factor"),
    "otp_totp": Stays("secrets of a person's second factor"),
}

# With one machine goes what was signed; who wrote it comes along by name only. Money, documents
# and what is planned stay with the shop it leaves.
OF_MACHINE = {
    "shop.User": Named(carries=("username", "first_name", "last_name")),
    "shop.Firm": Named(carries=("name",)),
    "shop.ToldAnswer": Goes("recommendation_steps__recommendation__machine"),
    "shop.ToldReply": Goes("told__recommendation_steps__recommendation__machine"),
    "shop.Visit": Goes(
        "visited__machine",
        only={"state": "signed"},
        held={"state": "on site", "signed_at": None},
    ),
    "shop.Signature": Goes("visit__visited__machine", only={"visit__state": "signed"}),
}
