namespace CashEvents.Domain; internal static class X { }
