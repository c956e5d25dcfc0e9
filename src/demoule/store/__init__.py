"""Memory: versions of desserts, kitchens and order books, and who may change them."""
