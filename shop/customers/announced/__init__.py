"""Units that are announced before they are here: by a call, or by the customer through a link."""
