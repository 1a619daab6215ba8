"""What other rooms hear of customers."""

from django.dispatch import Signal

# Sent inside the transaction that erases a customer, with `customer`; whoever keeps something
# personal takes it away. An error undoes all of it.
customer_erased = Signal()
