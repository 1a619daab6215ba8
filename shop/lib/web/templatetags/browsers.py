"""Browsers as pages call them."""

from django import template

from shop.lib import browsers

register = template.Library()
register.filter(browsers.browser_name)
