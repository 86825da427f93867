"""A body that moves through given contacts; knows no drill."""
