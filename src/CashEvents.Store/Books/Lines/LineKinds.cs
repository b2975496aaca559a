using System.Collections.Frozen;

namespace CashEvents.Store.Books;

/// <summary>The one name of each kind of line, in the events table and in every answer. A name once used is never changed: old lines carry it.</summary>
public static class LineKinds
{
    /// <summary>Kind by the event's type.</summary>
    public static FrozenDictionary<Type, string> Names { get; } = new Dictionary<Type, string>
    {
        [typeof(HouseholdDescribed)] = "householdDescribed",
        [typeof(WalletOpened)] = "walletOpened",
        [typeof(WalletRelabelled)] = "walletRelabelled",
        [typeof(WalletClosed)] = "walletClosed",
        [typeof(WalletReopened)] = "walletReopened",
        [typeof(CompartmentOpened)] = "compartmentOpened",
        [typeof(CompartmentRelabelled)] = "compartmentRelabelled",
        [typeof(CompartmentMoved)] = "compartmentMoved",
        [typeof(CompartmentClosed)] = "compartmentClosed",
        [typeof(CompartmentReopened)] = "compartmentReopened",
        [typeof(KeyIssued)] = "keyIssued",
        [typeof(KeyRevoked)] = "keyRevoked",
        [typeof(Filled)] = "fill",
        [typeof(Spent)] = "spend",
        [typeof(Refunded)] = "refund",
        [typeof(Transferred)] = "transfer",
        [typeof(Swept)] = "sweep",
        [typeof(CountTaken)] = "count",
        [typeof(CountSettled)] = "settlement",
        [typeof(BankStatementRead)] = "bankStatement",
        [typeof(BankStatementSettled)] = "bankStatementSettlement",
        [typeof(CountRoundOpened)] = "countRound",
        [typeof(CountsConfirmed)] = "countsConfirmed",
        [typeof(CountRoundClosed)] = "countRoundClosed",
        [typeof(Reversed)] = "reversal",
        [typeof(NotesWished)] = "noteWishes",
        [typeof(NotesExchanged)] = "exchange",
        [typeof(PlaceSet)] = "place",
        [typeof(PlaceRemoved)] = "placeRemoved",
        [typeof(HandedOver)] = "handover",
        [typeof(HandoverReturned)] = "handoverReturned",
        [typeof(CautionLimitsSet)] = "cautionLimits",
        [typeof(PlanSet)] = "plan",
        [typeof(IncomeSourceSet)] = "incomeSourceSet",
        [typeof(IncomeSourceEnded)] = "incomeSourceEnded",
        [typeof(StandingPaymentSet)] = "standingPaymentSet",
        [typeof(StandingPaymentEnded)] = "standingPaymentEnded",
        [typeof(GoalSet)] = "goal",
        [typeof(GoalRemoved)] = "goalRemoved",
        [typeof(FundTermsSet)] = "fundTerms",
        [typeof(SavingPlanSet)] = "savingPlan",
        [typeof(FillRuleSet)] = "fillRule",
        [typeof(FillRuleRemoved)] = "fillRuleRemoved",
        [typeof(PaydayFilled)] = "fillRun",
        [typeof(AutomaticFillsSet)] = "automaticFills",
        [typeof(AutomaticFillsStopped)] = "automaticFillsStopped",
        [typeof(PaydayLeft)] = "paydayLeft",
        [typeof(ClockWasAhead)] = "clockWasAhead",
        [typeof(MonthClosed)] = "monthClosed",
        [typeof(MonthReopened)] = "monthReopened",
    }.ToFrozenDictionary();

    /// <summary>The event's type by kind.</summary>
    public static FrozenDictionary<string, Type> Types { get; } = Names.ToFrozenDictionary(n => n.Value, n => n.Key);

    /// <summary>The kind of an event.</summary>
    public static string Of(IBookEvent line) => Names[line.GetType()];

    extension(BookLine line)
    {
        /// <summary>A line's kind, such as <c>spend</c>.</summary>
        public string Kind => Of(line.Event);
    }
}
