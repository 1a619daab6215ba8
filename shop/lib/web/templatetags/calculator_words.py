"""Words of calculations as pages say them."""

from django import template

from shop.lib.calculator_words import calculated

register = template.Library()
register.filter(calculated)
