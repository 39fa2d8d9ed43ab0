"""Material qualification: from pull-out and flexural test series to the number an engineer may use."""
