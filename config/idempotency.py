"""The POSTs that take no Idempotency-Key, by name of their address, and why. Every other POST honours one."""

EXEMPT = {
    "me-sign-out": "It ends the token it is called with, so a repeat is refused and there is nothing to do twice.",
    "lets-preview": "It changes nothing.",
    "old-book-look": "It changes nothing.",
    "payments-hook": "Signed by another service; its webhook-id already makes a repeated event act once.",
    "gateway-events": "Signed by another service; the id of each event already makes a repeat act once.",
}
