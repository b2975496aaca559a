using System.Globalization;

namespace CashEvents.Domain.Naming;

/// <summary>
/// What a sentence of the domain tells its reader to do. The domain knows no address: whoever shows the sentence says
/// how the thing is done there.
/// </summary>
public enum Act
{
    /// <summary>Describe the household, anew.</summary>
    DescribeHousehold,

    /// <summary>Change, close or reopen a compartment.</summary>
    ChangeCompartment,

    /// <summary>Read the compartments.</summary>
    ListCompartments,

    /// <summary>Change, close or reopen a wallet.</summary>
    ChangeWallet,

    /// <summary>Read the wallets.</summary>
    ListWallets,

    /// <summary>Issue a key.</summary>
    IssueKey,

    /// <summary>Revoke a key.</summary>
    RevokeKey,

    /// <summary>Say where a place is, and which wallets lie there.</summary>
    SetPlace,

    /// <summary>Remove a place.</summary>
    RemovePlace,

    /// <summary>Read what lies where, and who carries what.</summary>
    TellCustody,

    /// <summary>Hand cash over to somebody.</summary>
    OpenHandover,

    /// <summary>Bring back what was handed over.</summary>
    ReturnHandover,

    /// <summary>Set limits above which the household is cautioned.</summary>
    SetCautionLimits,

    /// <summary>Set a saving plan.</summary>
    SetSavingPlan,

    /// <summary>Say how a sinking fund is kept.</summary>
    SetFundTerms,

    /// <summary>Read the sinking funds.</summary>
    ListSinkingFunds,

    /// <summary>Read the goals.</summary>
    ListGoals,

    /// <summary>Set a goal.</summary>
    SetGoal,

    /// <summary>Change a goal.</summary>
    ChangeGoal,

    /// <summary>Record a count.</summary>
    Count,

    /// <summary>Read what would explain a count.</summary>
    ExplainCount,

    /// <summary>Open a round of counts.</summary>
    OpenCountRound,

    /// <summary>Close a round of counts.</summary>
    CloseCountRound,

    /// <summary>Say who pays, and when.</summary>
    SetIncomeSource,

    /// <summary>Read who pays.</summary>
    ListIncomeSources,

    /// <summary>Read the standing payments.</summary>
    ListStandingPayments,

    /// <summary>Wish for notes.</summary>
    WishNotes,

    /// <summary>Set a fill rule.</summary>
    SetFillRule,

    /// <summary>Read the fill rules.</summary>
    ListFillRules,

    /// <summary>Start the automatic fills, or set another time.</summary>
    StartAutomaticFills,

    /// <summary>Stop the automatic fills.</summary>
    StopAutomaticFills,

    /// <summary>Fill a payday by its rules.</summary>
    FillPayday,

    /// <summary>Draw up which notes to ask for.</summary>
    Draw,

    /// <summary>Record a fill.</summary>
    Fill,

    /// <summary>Amend a line.</summary>
    Amend,
}

/// <summary>The ways to act, in sentences.</summary>
public static class Acts
{
    /// <summary>Begins a mark in a sentence. What a household wrote has none: control characters are refused.</summary>
    public const char Begins = '\u0091';

    /// <summary>Ends it.</summary>
    public const char Ends = '\u0092';

    /// <summary>The mark of an act in a sentence, for instance after "with".</summary>
    /// <param name="act">What is to be done.</param>
    /// <param name="which">To which thing: its id, name or line; left out where any is meant.</param>
    public static string Way(this Act act, object? which = null) =>
        string.Create(CultureInfo.InvariantCulture, $"{Begins}{act}{(which is null ? "" : " ")}{which}{Ends}");
}
