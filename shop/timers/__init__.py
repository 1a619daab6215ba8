"""Clocks that run on the server: trial, warm-up, wait after discharge, and labour by start and stop."""
