"""Roles as pages call them."""

from django import template

from shop.accounts import roles

register = template.Library()
register.filter(roles.role_name)
