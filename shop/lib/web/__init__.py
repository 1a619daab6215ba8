"""What all pages share: middleware, fragments, uploads, navigation."""
