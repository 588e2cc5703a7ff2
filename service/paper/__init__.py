"""Paper and pages that need no network: sheets, cards, lists, a calendar."""
